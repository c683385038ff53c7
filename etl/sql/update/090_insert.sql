-- output: facts.spell, facts.bout_piece with the islands' new rows
-- grain:  as there
-- time:   as there
insert into facts.bout_piece by name
select * exclude (id, gone, last_before) from work_near_piece where id is null;
insert into facts.spell by name
select person, spell, start_us, end_us, working_us from work_near_spell where id is null
