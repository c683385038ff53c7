-- output: work_new_bucket, the stroke events that files hold, gathered into buckets
-- grain:  one row a file, person, bucket and instrument
-- time:   first_us and last_us, microseconds UTC, of the events
-- A file's rows are never changed, only added or taken out, so numbers and limits of a bucket tell what moved.
create or replace temp table work_new_bucket as
{buckets}
