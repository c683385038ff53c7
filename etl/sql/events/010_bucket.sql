-- output: stroke events gathered into short buckets
-- grain:  one row a person, instrument and bucket ({bucket_us} microseconds, no longer than a rest)
-- time:   bucket is the beginning of the bucket, first_us and last_us its first and last event; microseconds UTC
-- Two events of one bucket lie closer than a rest: spells found on buckets are exact, on a far smaller table.
-- One dispense is one stroke cycle; an ejection is one tip. Every column merges, so buckets of files add up.
-- The one pass over the events, in words that DuckDB and Apache Spark share. Actions and instruments are kept
-- apart: with the catalogue, these counts are the exact distribution of force, for any classes chosen later.
select
    {source}
    person, at_us - at_us % {bucket_us} as bucket, instrument, {tz} as tz,
    min(at_us) as first_us, max(at_us) as last_us, cast(count(*) as int) as events,
    cast(count_if(action = 'DISPENSE') as int) as strokes,
    cast(count_if(action = 'EJECT') as int) as tips
from {events}
group by {source} person, at_us - at_us % {bucket_us}, instrument
