-- output: tokens of everybody on a month's roster
-- grain:  one row a person
-- time:   $month, the DATE of its first day
select distinct t.token
from facts.roster r join release_private.token t on t.person = r.person
where r.month = $month and r.cluster is not null
order by t.token
