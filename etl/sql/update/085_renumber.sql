-- output: facts.spell, facts.bout_piece of later spells with their new numbers
-- grain:  as there
-- time:   none
update facts.spell p set spell = n.spell
from work_number n
where n.person = p.person and n.old = p.spell and not n.is_new and n.old <> n.spell;
update facts.bout_piece b set spell = n.spell
from work_number n
where n.person = b.person and n.old = b.spell and not n.is_new and n.old <> n.spell
