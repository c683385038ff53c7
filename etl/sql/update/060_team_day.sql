-- output: work_team_day, the team of touched persons on the days at hand
-- grain:  one row a person and date on a team
-- time:   DATE, local
create or replace temp table work_team_day as
select p.person, d.local_date, arg_min(p.team, (-(p.valid_from - date '1970-01-01'), p.team)) as team
from core.people p
semi join work_island i on i.person = p.person
join (select distinct local_date from work_local_day) d
    on d.local_date >= p.valid_from and (p.valid_to is null or d.local_date <= p.valid_to)
group by p.person, d.local_date
