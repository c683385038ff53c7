-- output: work_event_person, empty: all persons go the way of those who log bouts
-- grain:  none
-- time:   none
-- A day may hold other islands, with bouts, that are not at hand. And the short way saves sorting, which is dear for
-- millions of rows; for few it costs more statements.
create or replace temp table work_event_person as
select null::varchar as person where false
