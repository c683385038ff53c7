-- output: facts.spell, facts.bout_piece of later spells with their new numbers; work_moved
-- grain:  as there; work_moved has one row a spell that gets another number
-- time:   none
-- Spells are numbered along all of a person's time: a spell more or less moves the numbers of those after it. Those
-- beyond the span move as its last one does.
create or replace temp table work_moved as
with last as (
    select person, max(number) as number, max(spell) - max(number) as shift
    from work_near_spell
    where id is not null and not gone
    group by person
)
select person, number as old, spell
from work_near_spell
where id is not null and not gone and spell <> number
union all
select p.person, p.spell, p.spell + l.shift
from facts.spell p join last l on l.person = p.person and p.spell > l.number
where l.shift <> 0;
update facts.spell p set spell = n.spell from work_moved n where n.person = p.person and n.old = p.spell;
update facts.bout_piece b set spell = n.spell from work_moved n where n.person = b.person and n.old = b.spell
