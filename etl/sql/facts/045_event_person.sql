-- output: work_event_person, persons whose only log is of stroke events, in one time zone
-- grain:  one row a person
-- time:   none
-- Nothing of theirs can overlap, so the short way through etl/sql/events gives their facts.
create or replace temp table work_event_person as
select b.person, min(z.zone) as zone
from work_event_bucket b
join (select distinct tz, zone from work_local_day) z on z.tz = b.tz
anti join work_recorded r on r.person = b.person
group by b.person
having min(z.zone) = max(z.zone)
