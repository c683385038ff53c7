-- output: work_event_bucket, the buckets of all files put together
-- grain:  one row a person, instrument and bucket
-- time:   first_us and last_us, microseconds UTC, of the events in the bucket
-- Every column merges. Only where files meet within three minutes do two rows become one.
create or replace temp table work_event_bucket as
select
    person, bucket, instrument, min(tz) as tz, min(first_us) as first_us, max(last_us) as last_us,
    sum(events)::integer as events, sum(strokes)::integer as strokes, sum(tips)::integer as tips
from work_event_part
group by person, bucket, instrument
