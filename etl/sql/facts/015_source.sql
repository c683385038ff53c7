-- output: work_new_bucket, work_new_day and work_new_extent, what files hold of logged work
-- grain:  one row a file, person, bucket and instrument; a file, person and UTC day; a file and time zone
-- time:   first_us and last_us, microseconds UTC, of the events or bouts
-- A file's rows are never changed, only added or taken out, so numbers and limits of a day tell what moved.
create or replace temp table work_new_bucket as
{buckets}
union all
select
    file_id, person, bucket - bucket % {bucket_us}, instrument, min(tz), min(first_us), max(last_us),
    sum(events)::bigint, sum(strokes)::bigint, sum(tips)::bigint
from core.event_bucket where {files}
group by file_id, person, bucket - bucket % {bucket_us}, instrument;
create or replace temp table work_new_day as
select
    file_id, person, start_us - start_us % 86400000000 as day_us, count(*) as bouts,
    min(start_us) as first_us, max(end_us) as last_us
from core.bouts where {files}
group by file_id, person, start_us - start_us % 86400000000;
create or replace temp table work_new_extent as
select file_id, tz, min(first_us) as first_us, max(last_us) as last_us
from (
    select file_id, tz, first_us, last_us from work_new_bucket
    union all
    -- A bout that ends as a month does has not touched the next one.
    select file_id, tz, start_us, end_us - 1 from core.bouts where {files}
)
group by file_id, tz
