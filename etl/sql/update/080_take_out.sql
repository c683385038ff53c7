-- output: facts.bout_piece and facts.spell without the spells that are gone
-- grain:  as there
-- time:   none
delete from facts.bout_piece where rowid in (select id from work_near_piece where gone);
delete from facts.spell where rowid in (select id from work_near_spell where gone)
