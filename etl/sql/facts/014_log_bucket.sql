-- output: buckets of logs that were read in place, as wide as the rules want them
-- grain:  one row a file, person, bucket and instrument
-- time:   first_us and last_us, microseconds UTC, of the events
select
    file_id, person, bucket - bucket % {bucket_us} as bucket, instrument, min(tz) as tz,
    min(first_us) as first_us, max(last_us) as last_us,
    sum(events)::bigint as events, sum(strokes)::bigint as strokes, sum(tips)::bigint as tips
from core.event_bucket where {files}
group by file_id, person, bucket - bucket % {bucket_us}, instrument
