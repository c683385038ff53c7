-- output: the quarter cohort of each team and those of it with discomfort in any answered month
-- grain:  one row a team and body region
-- time:   $first, the DATE of the first day of the quarter
-- Cohort: on the team on every day of all three months, and answered for the region at least once.
with cohort as (
    select person, team
    from facts.roster
    where month >= $first and month < $first + interval 3 month and whole_month
    group by person, team
    having count(*) = 3
),
answer as (
    select c.team, c.person, s.region, bool_or(s.is_case) as is_case
    from cohort c
    join facts.symptom s
        on s.person = c.person and s.month >= $first and s.month < $first + interval 3 month
    group by c.team, c.person, s.region
)
select
    'team' as level, a.team as unit, any_value(p.parent) as parent, a.region,
    list(t.token order by t.token) as tokens, count(*)::integer as n,
    count(*) filter (where a.is_case)::integer as cases
from answer a
join release_place p on p.team = a.team and p.level = 'team'
join release_private.token t on t.person = a.person
group by a.team, a.region
order by a.region, a.team
