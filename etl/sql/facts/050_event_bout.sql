-- output: work_event_bout, stroke events as bouts, of persons who do not go the short way
-- grain:  one row a person, instrument and bucket
-- time:   start_us to end_us, microseconds UTC; the bouts of a spell tile it without gap or overlap
-- A bucket lasts to the next bucket's first event, or to its own last event where a rest follows. Instruments
-- used in one bucket share its time in order of first use, by their number of events (cumulative floor). spell and
-- spell_from_us number and open the spells of events alone; where bouts are logged too, 090_bout finds spells anew.
create or replace temp table work_event_bout as
with own as (
    select * from work_event_bucket b anti join work_event_person p on p.person = b.person
),
bucket as (
    select
        person, bucket, min(first_us) as first_us, max(last_us) as last_us, sum(events)::bigint as events
    from own
    group by person, bucket
),
edged as (
    select
        person, bucket, first_us, events,
        case
            when lead(first_us) over in_time - last_us < s.rest_us then lead(first_us) over in_time
            else last_us
        end as until_us,
        coalesce(first_us - lag(last_us) over in_time >= s.rest_us, true) as opens
    from bucket cross join facts.setting s
    window in_time as (partition by person order by bucket)
),
slice as (
    select
        *, count(*) filter (where opens) over so_far as spell,
        max(first_us) filter (where opens) over so_far as spell_from_us
    from edged
    window so_far as (partition by person order by bucket rows unbounded preceding)
),
counted as (
    select
        person, bucket, instrument, tz, events, strokes, tips,
        (sum(events) over (
            partition by person, bucket order by first_us, instrument rows unbounded preceding
        ))::bigint as events_so_far
    from own
),
shared as (
    select
        b.*, s.first_us as slice_us, s.until_us - s.first_us as slice_length_us, s.events as slice_events, s.spell,
        s.spell_from_us
    from counted b join slice s on s.person = b.person and s.bucket = b.bucket
)
select
    person, instrument, tz,
    slice_us + slice_length_us * (events_so_far - events) // slice_events as start_us,
    slice_us + slice_length_us * events_so_far // slice_events as end_us,
    cast(strokes as integer) as strokes,
    cast(tips as integer) as tips, spell, spell_from_us
from shared
