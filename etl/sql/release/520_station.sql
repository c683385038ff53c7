-- output: the stations of every team as last seen
-- grain:  one row a station
-- time:   the newest walk-through up to $last_day; lengths in millimetres
select
    station, arg_max(team, observed_on) as team, max(observed_on) as observed_on,
    arg_max(struct_pack(
        height := bench_height_mm, edge := edge_thickness_mm, low := chair_min_mm, high := chair_max_mm,
        foot := foot_support
    ), observed_on) as bench
from core.stations
where observed_on <= $last_day
group by station
order by team, station
