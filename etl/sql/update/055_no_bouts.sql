-- output: work_log's followers, empty: work_overlap and work_bout of islands that hold stroke events alone
-- grain:  as in facts/080_overlap and facts/090_bout
-- time:   as there
-- Where nobody's bouts are at hand and each person's events go the short way, nothing can overlap: what the steps
-- in between would look for is not there, and planning them costs more than the events do.
create or replace temp table work_overlap as from facts.overlap limit 0;
create or replace temp table work_bout (
    person varchar, start_us bigint, end_us bigint, tz varchar, task varchar, instrument varchar,
    strokes integer, tips integer, station varchar, origin varchar, spell bigint
)
