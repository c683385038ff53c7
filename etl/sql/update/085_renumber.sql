-- output: facts.spell or facts.bout_piece with the new numbers of later spells
-- grain:  as there
-- time:   none
-- Spells are numbered along all of a person's time: a spell more or less moves the numbers of those after it.
update {table} p set spell = p.spell + m.shift
from (
    select
        unnest($person::varchar[]) as person, unnest($after::bigint[]) as after, unnest($upto::bigint[]) as upto,
        unnest($shift::bigint[]) as shift
) m
where m.person = p.person and p.spell > m.after and p.spell <= m.upto
