-- output: team spells that end before they begin
-- grain:  one row a spell
-- time:   local dates
select concat_ws(' ', person, team, valid_from, valid_to) as offender
from core.people
where valid_to < valid_from
