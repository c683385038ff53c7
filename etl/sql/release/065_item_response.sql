-- output: who answered for a region, of those who answered for any, in the whole organisation
-- grain:  one row a body region
-- time:   $month, the DATE of its first day
select
    region, count(distinct person)::integer as answered,
    (select count(distinct person) from facts.symptom where month = $month and team is not null)::integer
        as any_region
from facts.symptom
where month = $month and team is not null
group by region
order by region
