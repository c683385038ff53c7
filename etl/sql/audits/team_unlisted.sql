-- output: people on a team that the list of teams does not hold
-- grain:  one row a person and team
-- time:   none
select distinct concat_ws(' ', p.person, p.team) as offender
from core.people p anti join core.teams t on t.team = p.team
