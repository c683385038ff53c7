-- output: work_bout, the islands' pieces as bouts, as far as spells need them
-- grain:  one row a piece
-- time:   start_us to end_us, microseconds UTC
-- The pieces of a bout tile it, so spells of pieces are spells of bouts.
create or replace temp table work_bout as
select person, spell, start_us, end_us from work_new_piece
