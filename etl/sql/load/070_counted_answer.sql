-- output: temp.counted_answer, whose answers stand behind the published numbers of some months
-- grain:  one row a person, month and body region
-- time:   month as the DATE of its first day, one of $months ('2026-10'), all of a quarter that is published
-- An interrupted release leaves rows of its own quarter only, and that one is not published.
create or replace temp table counted_answer as
select distinct token.person, strptime(answered.period, '%Y-%m')::date as month, answered.region
from release_private.answered
join release_private.contributor_set using (set_id)
cross join unnest(contributor_set.tokens) as member(token)
join release_private.token on token.token = member.token
where list_contains($months, answered.period)
