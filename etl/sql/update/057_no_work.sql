-- output: work_overlap, work_spell and work_piece, empty: nothing is left of the work of the islands
-- grain:  as in facts/080_overlap, facts/100_spell and facts/130_bout_piece
-- time:   as there
create or replace temp table work_overlap as from facts.overlap limit 0;
create or replace temp table work_spell as from facts.spell limit 0;
create or replace temp table work_piece as from facts.bout_piece limit 0
