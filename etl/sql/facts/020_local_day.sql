-- output: work_local_day, where each local day starts and ends on the clock of its time zone
-- grain:  one row a time zone (also numbered) and local date, over the dates that the logs at hand touch
-- time:   from_us (included) to to_us (excluded), microseconds UTC; 23 or 25 hours where clocks change
create or replace temp table work_local_day as
with extent as (
    select tz, min(start_us) as first_us, max(end_us) as last_us from work_recorded group by tz
    union all
    select tz, min(first_us), max(last_us) from work_event_bucket group by tz
),
zone as (
    select tz, min(first_us) as first_us, max(last_us) as last_us from extent group by tz
),
day as (
    select
        tz,
        unnest(generate_series(
            cast(make_timestamp(first_us) as date) - 2, cast(make_timestamp(last_us) as date) + 2,
            interval 1 day
        ))::date as local_date
    from zone
),
opened as (
    -- Where clocks go back over midnight it comes twice; the first opens the day. Where it is skipped, the
    -- change itself does.
    select tz, local_date, epoch_us(timezone(tz, cast(local_date as timestamp))) as from_us from day
)
select
    tz, dense_rank() over (order by tz) as zone, local_date, from_us,
    lead(from_us) over (partition by tz order by local_date) as to_us
from opened
qualify to_us is not null
