-- output: work_person_day, with the days of persons who go the short way
-- grain:  one row a person and local day
-- time:   local_date, in the person's time zone
-- Their days come straight from buckets and spells, not from the pieces: the audits hold the two against each other.
insert into work_person_day by name
select d.*, t.team
from work_event_day d
left join work_team_day t on t.person = d.person and t.local_date = d.local_date
