-- output: work_touched, logged work that has come, gone or changed; work_touched_day, its limits by UTC day
-- grain:  one row a person and bucket, or a file and day of bouts; one row a person and UTC day
-- time:   from_us to_us, microseconds UTC
-- Read are the rows that differ, whole where a file came or went. The rows of one bucket lie closer
-- than a rest.
create or replace temp table work_touched as
select person, min(first_us) as from_us, max(last_us) as to_us from {buckets} group by person, bucket
union all
select person, first_us, last_us from {days};
create or replace temp table work_touched_day as
select person, min(from_us) as from_us, max(to_us) as to_us
from work_touched
group by person, from_us // 86400000000
