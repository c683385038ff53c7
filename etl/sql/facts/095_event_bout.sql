-- output: work_bout, with the slices of persons who go the short way
-- grain:  one row a slice of a bucket and instrument
-- time:   start_us to end_us, microseconds UTC
insert into work_bout (
    person, start_us, end_us, tz, task, instrument, strokes, tips, station, origin, spell, spell_from_us
)
with slice as (
    select
        person, zone, instrument, strokes, tips, first_us as start_us,
        case when after_first_us - last_us < s.rest_us then after_first_us else last_us end as end_us
    from work_event_sequence cross join work_setting s
    where alone = 1
    union all
    select person, zone, instrument, strokes, tips, start_us, end_us from work_event_slice
)
select
    b.person, b.start_us, b.end_us, z.tz, 'UNKNOWN', b.instrument, b.strokes::integer, b.tips::integer, null,
    'strokes', p.spell, p.start_us
from slice b
asof join work_event_spell p on p.person = b.person and b.start_us >= p.start_us
join (select distinct tz, zone from work_local_day) z on z.zone = b.zone
