-- output: tokens of the people on each team in a month
-- grain:  one row a team
-- time:   $month, the DATE of its first day; on the team on any day of it
select r.team, any_value(r.cluster) as cluster, list(t.token order by t.token) as tokens
from facts.roster r
join release_private.token t on t.person = r.person
where r.month = $month and r.cluster is not null
group by r.team
order by r.team
