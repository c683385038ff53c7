-- output: how long each team had people
-- grain:  one row a team
-- time:   last_month as whole months since $first; up to $month
select team, max(datediff('month', $first::date, month))::integer as last_month
from facts.roster
where team is not null and month between $first and $month
group by team
order by team
