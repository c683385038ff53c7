-- output: answers that an evaluation may use
-- grain:  one row a person, month and region answered while on a team
-- time:   month as whole months since $first; up to $month
select
    person, team, region, is_case,
    datediff('month', $first::date, month)::integer as month
from facts.symptom
where team is not null and month between $first and $month
order by person, region, month
