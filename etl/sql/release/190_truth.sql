-- output: who had discomfort, under tokens, for the auditor's memory only
-- grain:  one row a person with a token, month and region
-- time:   months up to $month, DATEs of first days
select s.region, t.token, strftime(s.month, '%Y-%m') as month, s.is_case::integer as is_case
from facts.symptom s join release_private.token t on t.person = s.person
where s.month <= $month and s.team is not null
order by s.region, t.token, s.month
