-- output: model results stated so far about an outcome, with who entered them and a digest of how
-- grain:  one row a statement and contributor
-- time:   all editions up to the open one
select s.asked, s.period, s.way, u.token
from release_private.statement s
join release_private.contributor_set c using (set_id), unnest(c.tokens) as u(token)
where s.outcome = $outcome
order by s.edition, s.asked, s.period, u.token
