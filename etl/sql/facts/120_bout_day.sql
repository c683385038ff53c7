-- output: work_bout_day, bouts cut at local midnight
-- grain:  one row a bout and local day
-- time:   piece_from_us to piece_to_us, microseconds UTC, within start_us to end_us of the bout
create or replace temp table work_bout_day as
with opened as (
    select b.*, d.local_date, d.to_us as midnight_us
    from work_bout b
    join work_local_key d on d.tz = b.tz and d.utc_day_us = b.start_us - b.start_us % 86400000000
        and d.from_us <= b.start_us and d.to_us > b.start_us
)
select * exclude (midnight_us), start_us as piece_from_us, end_us as piece_to_us
from opened
where end_us <= midnight_us
union all
select
    o.* exclude (midnight_us) replace (d.local_date as local_date),
    greatest(o.start_us, d.from_us), least(o.end_us, d.to_us)
from opened o
join work_local_day d on d.tz = o.tz and d.from_us < o.end_us and d.to_us > o.start_us
where o.end_us > o.midnight_us
