-- output: work_event_person, empty: the days of all touched persons are reckoned from their pieces
-- grain:  none
-- time:   none
-- A day may hold other islands, with bouts, that are not at hand.
create or replace temp table work_event_person (person varchar)
