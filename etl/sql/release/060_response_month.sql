-- output: people invited (on the roster) and people who answered for any region
-- grain:  one row a unit (organisation, cluster)
-- time:   $month, the DATE of its first day
with home as (
    select person, arg_max(team, (days_on_team, team)) as team
    from facts.roster where month = $month group by person
),
answered as (select distinct person from facts.symptom where month = $month)
select
    p.level, p.unit, any_value(p.parent) as parent,
    count(*)::integer as invited, count(a.person)::integer as answered
from home h
join release_place p on p.team = h.team and p.level in ('organisation', 'cluster')
left join answered a on a.person = h.person
group by p.level, p.unit
order by p.level desc, p.unit
