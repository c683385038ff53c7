-- output: work_event_bout, stroke events as bouts, of persons who do not go the short way
-- grain:  one row a person, instrument and bucket
-- time:   start_us to end_us, microseconds UTC; the bouts of a spell tile it without gap or overlap
-- A bucket lasts to the next bucket's first event, or to its own last event where a rest follows. Instruments
-- used in one bucket share its time in order of first use, by their number of events (cumulative floor).
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
slice as (
    select
        person, bucket, first_us, events,
        case
            when lead(first_us) over following - last_us < s.rest_us then lead(first_us) over following
            else last_us
        end as until_us
    from bucket cross join facts.setting s
    window following as (partition by person order by bucket)
),
shared as (
    select
        b.*, s.first_us as slice_us, s.until_us - s.first_us as slice_length_us, s.events as slice_events,
        (sum(b.events) over (
            partition by b.person, b.bucket order by b.first_us, b.instrument rows unbounded preceding
        ))::bigint as events_so_far
    from own b join slice s on s.person = b.person and s.bucket = b.bucket
)
select
    person, instrument, tz,
    slice_us + slice_length_us * (events_so_far - events) // slice_events as start_us,
    slice_us + slice_length_us * events_so_far // slice_events as end_us,
    cast(strokes as integer) as strokes,
    cast(tips as integer) as tips
from shared
