-- output: temp.busy_day, days that may be part of an overfull local day of a person
-- grain:  one row a person of the file and UTC day
-- time:   UTC day as days since 1970-01-01
-- A local day touches two UTC days, so a day is cleared where it and either neighbour hold 24 h or less.
create or replace temp table busy_day as
with mine as (
    select person__v as person, start__v as start_us, end__v as end_us from typed where ok
),
extent as (
    select min(start_us) - 172800000000 as first_us, max(start_us) + 172800000000 as last_us from mine
),
every as (
    from mine
    union all
    select person, start_us, end_us from core.bouts, extent where start_us between first_us and last_us
    union all
    select person, start_us, end_us from loading.contested_bout
),
day as (
    select person, start_us // 86400000000 as utc_day, sum(end_us - start_us)::bigint as us
    from every group by all
),
around as (
    select
        person, utc_day, us,
        max(us) over (
            partition by person order by utc_day range between 1 preceding and 1 following exclude current row
        ) as beside_us
    from day
)
select person, utc_day from around where us + coalesce(beside_us, 0) > 86400000000
