-- output: work_local_key, local days by the UTC days they reach into
-- grain:  one row a time zone, local date and UTC day
-- time:   utc_day_us is the beginning of the UTC day, microseconds UTC
-- An instant finds its local day by two equal keys and a look at two or three rows, in any engine.
create or replace temp table work_local_key as
select
    *, unnest(range(from_us - from_us % 86400000000, to_us, 86400000000)) as utc_day_us
from work_local_day
