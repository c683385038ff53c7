-- output: work_event_person, emptied: the days of all touched persons are reckoned from their pieces
-- grain:  none
-- time:   none
-- A day may hold other islands, with bouts, that are not at hand.
truncate work_event_person
