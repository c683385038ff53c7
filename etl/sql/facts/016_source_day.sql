-- output: work_new_day, what files hold of bouts
-- grain:  one row a file, person and UTC day
-- time:   first_us and last_us, microseconds UTC, of the bouts
create or replace temp table work_new_day as
select
    file_id, person, start_us - start_us % 86400000000 as day_us, count(*) as bouts,
    min(start_us) as first_us, max(end_us) as last_us
from core.bouts where {files}
group by file_id, person, start_us - start_us % 86400000000
