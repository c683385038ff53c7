-- output: work_new_extent, the time that files of logged work span
-- grain:  one row a file and time zone
-- time:   first_us and last_us, microseconds UTC, of the events or bouts
-- A bout that ends as a month does has not touched the next one.
create or replace temp table work_new_extent as
select file_id, tz, min(first_us) as first_us, max(last_us) as last_us
from ({logged})
group by file_id, tz
