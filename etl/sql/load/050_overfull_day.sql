-- output: temp.overfull_now, days that have more than 24 h of bouts and were not known to
-- grain:  one row a person and local day
-- time:   local date on which a bout starts, by the clock of its own zone; a bout counts whole on that day
-- A key counts once with the longest bout that was ever delivered for it, whatever became of the rows, so that
-- the verdict is the same for any order of files.
create or replace temp table overfull_now as
with every as (
    select person__v as person, start__v as start_us, end__v as end_us, $zone as tz from typed where ok
    union all
    select person, start_us, end_us, tz from core.bouts
    union all
    select person, start_us, end_us, tz from loading.contested_bout
),
bout as (
    select
        person, start_us, max(end_us) - start_us as us,
        min(timezone(tz, make_timestamptz(start_us))::date) as local_date
    from every semi join busy_day on every.person = busy_day.person and start_us // 86400000000 = utc_day
    group by person, start_us
)
select person, local_date from bout group by person, local_date having sum(us) > 86400000000
except
select person, local_date from loading.overfull_day
