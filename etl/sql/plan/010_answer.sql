-- output: answers of one region that a plan learns the site's own variance from
-- grain:  one row a person, team and month answered while on a team
-- time:   month as whole months since $first; up to $month
select
    dense_rank() over (order by person, team)::integer - 1 as place, person, team, is_case,
    datediff('month', $first::date, month)::integer as month
from facts.symptom
where team is not null and region = $region and month between $first and $month
order by place, month
