-- output: a person's pipetting on one local day, from stroke events alone
-- grain:  one row a person and local day
-- time:   local_date in the person's time zone, numbered by zone; durations in microseconds, forces in mN and mN x ms
-- For persons with one time zone and no other log: nothing overlaps, so spells are work without a gap and can be
-- cut at midnight by themselves, and only slices over midnight have strokes to share (difference of two floors).
-- Column for column the facts that bouts give. Shared words of two engines; decimals hold the largest products.
with dated as (
    select
        p.*, f.local_date as first_date, l.local_date as last_date, l.to_us as midnight_us
    from (
        select
            *, start_us - start_us % 86400000000 as first_utc_us,
            case when end_us > last_us then end_us - 1 else last_us end as end_of_last_us
        from work_event_spell
    ) as p
    join work_local_key as f on f.zone = p.zone and f.utc_day_us = p.first_utc_us
        and f.from_us <= p.start_us and f.to_us > p.start_us
    join work_local_key as l on l.zone = p.zone and l.utc_day_us = p.end_of_last_us - p.end_of_last_us % 86400000000
        and l.from_us <= p.end_of_last_us and l.to_us > p.end_of_last_us
),
spell_day as (
    select
        person, first_date as local_date, start_us, end_us, start_us as from_us, end_us as until_us,
        next_us - end_us as pause_us, case when next_us < midnight_us then 1 else 0 end as same_day
    from dated where first_date = last_date
    union all
    select
        p.person, d.local_date, p.start_us, p.end_us,
        case when d.from_us > p.start_us then d.from_us else p.start_us end,
        case when d.to_us < p.end_us then d.to_us else p.end_us end,
        case when d.local_date = p.last_date then p.next_us - p.end_us end,
        case when p.next_us < p.midnight_us then 1 else 0 end
    from dated as p
    join work_local_day as d on d.zone = p.zone and d.local_date >= p.first_date and d.local_date <= p.last_date
    where p.first_date < p.last_date
),
time_of_day as (
    select
        person, local_date,
        cast(sum(until_us - from_us) as bigint) as pipetting_us,
        max(end_us - start_us) as longest_spell_us,
        cast(sum(case
            when until_us - start_us <= s.guide_us then 0
            when from_us - start_us >= s.guide_us then until_us - from_us
            else until_us - start_us - s.guide_us
        end) as bigint) as beyond_guide_us,
        cast(count(case when pause_us <= s.long_rest_us then 1 end) as int) as rests_micro,
        cast(count(case when pause_us > s.long_rest_us and same_day = 1 then 1 end) as int) as rests_long
    from spell_day cross join work_setting as s
    group by person, local_date
),
bout as (
    select
        person, zone, instrument, strokes, tips, first_us as start_us,
        case when after_first_us - last_us < s.rest_us then after_first_us else last_us end as end_us
    from work_event_sequence cross join work_setting as s
    where alone = 1
    union all
    select person, zone, instrument, strokes, tips, start_us, end_us from work_event_slice
),
priced as (
    select
        b.person, b.zone, b.strokes, b.start_us, b.end_us, k.local_date, k.to_us as midnight_us, c.peak_force_mn,
        case when b.strokes = 0 then 0 else b.strokes * c.stroke_mn_ms end
        + case when b.tips = 0 then 0 else b.tips * c.tip_mn_ms end as force_mn_ms
    from bout as b
    join work_local_key as k on k.zone = b.zone and k.utc_day_us = b.start_us - b.start_us % 86400000000
        and k.from_us <= b.start_us and k.to_us > b.start_us
    left join work_instrument as c on c.instrument = b.instrument
),
over_midnight as (
    select
        p.person, d.local_date, p.strokes, p.force_mn_ms, p.peak_force_mn,
        case when d.from_us > p.start_us then d.from_us else p.start_us end - p.start_us as before_us,
        case when d.to_us < p.end_us then d.to_us else p.end_us end - p.start_us as through_us,
        p.end_us - p.start_us as length_us
    from priced as p
    join work_local_day as d on d.zone = p.zone and d.from_us < p.end_us and d.to_us > p.start_us
    where p.end_us > p.midnight_us
),
product as (
    select
        *,
        cast(strokes as decimal(19, 0)) * cast(before_us as decimal(19, 0)) as strokes_before,
        cast(strokes as decimal(19, 0)) * cast(through_us as decimal(19, 0)) as strokes_through,
        cast(force_mn_ms as decimal(19, 0)) * cast(before_us as decimal(19, 0)) as force_before,
        cast(force_mn_ms as decimal(19, 0)) * cast(through_us as decimal(19, 0)) as force_through
    from over_midnight
),
piece as (
    select person, local_date, strokes, force_mn_ms, peak_force_mn, end_us - start_us as piece_us
    from priced where end_us <= midnight_us
    union all
    -- A product less its remainder divides without one, so rounding only undoes what division in doubles adds.
    select
        person, local_date,
        cast(round((strokes_through - strokes_through % length_us) / length_us) as bigint)
        - cast(round((strokes_before - strokes_before % length_us) / length_us) as bigint),
        cast(round((force_through - force_through % length_us) / length_us) as bigint)
        - cast(round((force_before - force_before % length_us) / length_us) as bigint),
        peak_force_mn, through_us - before_us
    from product
),
work_of_day as (
    select
        person, local_date, cast(sum(strokes) as bigint) as strokes,
        case when count(*) = count(force_mn_ms) then cast(sum(force_mn_ms) as bigint) end as force_time_mn_ms,
        cast(sum(case when force_mn_ms is null then 0 else piece_us end) as bigint) as force_known_us,
        case when count(*) = count(peak_force_mn) then max(peak_force_mn) end as peak_force_mn
    from piece
    group by person, local_date
)
select
    t.person, t.local_date, t.pipetting_us, w.strokes, t.longest_spell_us, t.beyond_guide_us,
    t.rests_micro, t.rests_long, w.force_time_mn_ms, w.force_known_us, w.peak_force_mn
from time_of_day as t
join work_of_day as w on w.person = t.person and w.local_date = t.local_date
