-- output: facts.roster, who was on which team each month
-- grain:  one row a person, month and team
-- time:   month as the DATE of its first day
create or replace table facts.roster as
with team as (
    select team, min(cluster) as cluster, min(site) as site from core.teams group by team
),
spent as (
    select
        person, date_trunc('month', local_date)::date as month, team, count(*)::integer as days_on_team
    from work_team_day
    group by person, date_trunc('month', local_date)::date, team
)
select
    s.person, s.month, s.team, t.cluster, t.site, s.days_on_team,
    s.days_on_team = day(last_day(s.month)) as whole_month
from spent s left join team t on t.team = s.team
order by s.person, s.month, s.team
