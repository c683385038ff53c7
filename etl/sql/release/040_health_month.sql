-- output: people who answered and people with discomfort, organisation and cluster
-- grain:  one row a unit and body region
-- time:   $month, the DATE of its first day
-- Leaves the person store as a rounded count only; `cases` is read by the release job and kept nowhere.
select
    p.level, p.unit, any_value(p.parent) as parent, s.region,
    list(t.token order by t.token) as tokens, count(*)::integer as n,
    count(*) filter (where s.is_case)::integer as cases
from facts.symptom s
join release_place p on p.team = s.team and p.level in ('organisation', 'cluster')
join release_private.token t on t.person = s.person
where s.month = $month
group by p.level, p.unit, s.region
order by s.region, p.level desc, p.unit
