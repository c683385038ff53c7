-- output: work_team_day, the team a person belongs to on a date
-- grain:  one row a person and date on a team, over the whole months of facts.extent
-- time:   DATE, local
-- A person listed on two teams the same day is an audit finding; the spell that began later counts here.
create or replace temp table work_team_day as
with day as (
    select
        p.person, p.team, p.valid_from,
        unnest(generate_series(
            greatest(p.valid_from, e.first_date), least(coalesce(p.valid_to, e.last_date), e.last_date),
            interval 1 day
        ))::date as local_date
    from core.people p cross join facts.extent e
    where e.first_date is not null
)
select person, local_date, arg_min(team, (-(valid_from - date '1970-01-01'), team)) as team
from day
group by person, local_date
