-- output: tokens of the people who answered for a region in a month
-- grain:  one row a month and region
-- time:   months from $first to $month, DATEs of first days
select strftime(s.month, '%Y-%m') as period, s.region, list(t.token order by t.token) as tokens
from facts.symptom s join release_private.token t on t.person = s.person
where s.month between $first and $month and s.team is not null
group by s.month, s.region
order by s.month, s.region
