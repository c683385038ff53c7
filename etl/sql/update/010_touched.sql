-- output: work_touched, logged work that has come, gone or changed; work_touched_day, its limits by UTC day
-- grain:  one row a bucket, or a file and day of bouts; one row a person and UTC day
-- time:   from_us to_us, microseconds UTC
-- What a file held when the facts were built is held against what it holds now: equal rows cancel.
create or replace temp table work_touched as
with bucket as (
    select *, 1 as side from work_new_bucket
    union all
    select *, -1 from facts.event_bucket where file_id in (select file_id from work_file)
),
bout_day as (
    select *, 1 as side from work_new_day
    union all
    select *, -1 from facts.source_day where file_id in (select file_id from work_file)
)
select person, first_us as from_us, last_us as to_us
from (
    select * exclude (side), sum(side) as balance from bucket group by all having sum(side) <> 0
)
union all
select person, first_us, last_us
from (
    select * exclude (side), sum(side) as balance from bout_day group by all having sum(side) <> 0
);
create or replace temp table work_touched_day as
select person, min(from_us) as from_us, max(to_us) as to_us
from work_touched
group by person, from_us // 86400000000
