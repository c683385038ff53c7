-- output: work_team_day, the team a person belongs to on a date
-- grain:  one row a person and date on a team, over the whole months that any loaded data touches
-- time:   DATE, local
-- A person listed on two teams the same day is an audit finding; the spell that began later counts here.
create or replace temp table work_team_day as
with touched as (
    -- A bout that ends as a month does has not touched the next one.
    select unnest([
        timezone(tz, make_timestamptz(min(start_us))), timezone(tz, make_timestamptz(max(end_us) - 1))
    ])::date as local_date
    from core.bouts group by tz
    union all
    select unnest([
        timezone(tz, make_timestamptz(min(at_us))), timezone(tz, make_timestamptz(max(at_us)))
    ])::date
    from core.strokes group by tz
    union all
    select unnest([min(month), max(month)]) from core.surveys
    union all
    select unnest([min(month), max(month)]) from core.hours
),
extent as (
    select date_trunc('month', min(local_date))::date as first_date, last_day(max(local_date)) as last_date
    from touched
),
day as (
    select
        p.person, p.team, p.valid_from,
        unnest(generate_series(
            greatest(p.valid_from, e.first_date), least(coalesce(p.valid_to, e.last_date), e.last_date),
            interval 1 day
        ))::date as local_date
    from core.people p cross join extent e
    where e.first_date is not null
)
select person, local_date, arg_min(team, (-(valid_from - date '1970-01-01'), team)) as team
from day
group by person, local_date
