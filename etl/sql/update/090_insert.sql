-- output: facts.spell, facts.bout_piece with the islands' new rows; work_spell, work_piece for the days' layers
-- grain:  as there; the spells of touched persons and their pieces around the islands
-- time:   as there
create or replace temp table work_new_piece as
select b.* replace (n.spell as spell)
from work_piece b join work_number n on n.person = b.person and n.old = b.spell and n.is_new;
insert into facts.bout_piece by name from work_new_piece;
create or replace temp table work_new_spell as
select p.* replace (n.spell as spell)
from work_spell p join work_number n on n.person = p.person and n.old = p.spell and n.is_new;
insert into facts.spell by name from work_new_spell;
create or replace temp table work_piece as
select b.* exclude (id) replace (n.spell as spell)
from work_own_piece b
join work_number n on n.person = b.person and n.old = b.spell and not n.is_new
union all by name
from work_new_piece;
create or replace temp table work_spell as
select p.* exclude (id, gone) replace (n.spell as spell)
from work_own_spell p
join work_number n on n.person = p.person and n.old = p.spell and not n.is_new
semi join work_own_piece b on b.person = p.person and b.spell = p.spell
union all by name
from work_new_spell
