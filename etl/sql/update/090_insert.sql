-- output: facts.spell, facts.bout_piece with the islands' new rows
-- grain:  as there
-- time:   as there
-- A spell's number counts on from the spells that stay before its island.
insert into facts.bout_piece
select b.* replace (b.spell + i.staying as spell)
from work_new_piece b
join work_island i on i.person = b.person and b.start_us between i.from_us and i.to_us;
insert into facts.spell
select p.* replace (p.spell + i.staying as spell)
from work_new_spell p
join work_island i on i.person = p.person and p.start_us between i.from_us and i.to_us
