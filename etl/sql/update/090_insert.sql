-- output: facts.spell, facts.bout_piece with the islands' new rows
-- grain:  as there
-- time:   as there
insert into facts.bout_piece from work_new_piece;
insert into facts.spell
{layers}
from work_spell
