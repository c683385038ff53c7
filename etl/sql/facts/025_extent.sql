-- output: facts.extent, the whole months that any loaded data touches
-- grain:  one row
-- time:   DATE, local
create or replace table facts.extent as
with touched as (
    select unnest([
        timezone(tz, make_timestamptz(min(first_us))), timezone(tz, make_timestamptz(max(last_us)))
    ])::date as local_date
    from facts.source_extent group by tz
    union all
    select unnest([min(month), max(month)]) from core.surveys
    union all
    select unnest([min(month), max(month)]) from core.hours
)
select date_trunc('month', min(local_date))::date as first_date, last_day(max(local_date)) as last_date
from touched
