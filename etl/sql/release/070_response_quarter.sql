-- output: people on a team all quarter, and those of them who answered at least once
-- grain:  one row a team
-- time:   $first, the DATE of the first day of the quarter
with cohort as (
    select person, team
    from facts.roster
    where month >= $first and month < $first + interval 3 month and whole_month
    group by person, team
    having count(*) = 3
),
answered as (
    select distinct person from facts.symptom where month >= $first and month < $first + interval 3 month
)
select
    'team' as level, c.team as unit, any_value(p.parent) as parent,
    count(*)::integer as invited, count(a.person)::integer as answered
from cohort c
join release_place p on p.team = c.team and p.level = 'team'
left join answered a on a.person = c.person
group by c.team
order by c.team
