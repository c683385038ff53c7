-- output: tokens on the roster of a month when it was released, of people not withdrawn since
-- grain:  one row a person
-- time:   $period, such as '2026-07'
select distinct u.token
from (
    select unnest(s.tokens) as token
    from release_private.roster r join release_private.contributor_set s on s.set_id = r.set_id
    where r.period = $period
) u
join release_private.token t on t.token = u.token
