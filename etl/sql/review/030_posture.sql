-- output: what people's stations were seen to ask of the body, beside their answers about one region
-- grain:  one row a person and month answered, of those whose work has a known posture
-- time:   month_number = 12 * year + month - 1, up to $month
-- share is the part of the time watched in which $posture was seen, over the person's work of the month, each piece
-- at its station by the newest walk-through up to that day. What was never looked for is unknown, not 0: known is the
-- part of the month's work it rests on. Person rows: they stay in the process of the data custodian.
with seen as (
    select station, observed_on, avg(share_percent) / 100 as share
    from core.observations
    where posture = $posture
    group by station, observed_on
),
work as (
    select
        b.person, date_trunc('month', b.local_date)::date as month,
        sum(b.end_us - b.start_us)::double as us,
        coalesce(sum(b.end_us - b.start_us) filter (where s.share is not null), 0)::double as known_us,
        sum(s.share * (b.end_us - b.start_us)) as share_us,
        arg_max(b.station, b.end_us - b.start_us) filter (where s.share is not null) as station
    from facts.bout_piece b
    asof left join seen s on s.station = b.station and s.observed_on <= b.local_date
    group by b.person, date_trunc('month', b.local_date)::date
)
select
    y.person, y.team, y.is_case, w.station, w.share_us / w.known_us as share, w.known_us / w.us as known,
    w.us / 3.6e9 * 7 / day(last_day(y.month)) as hours,
    (12 * year(y.month) + month(y.month) - 1)::integer as month_number
from facts.symptom y
join work w on w.person = y.person and w.month = y.month
where y.region = $region and y.month <= $month and y.team is not null and w.known_us > 0
order by y.person, y.month
