-- output: facts.spell, facts.bout_piece, facts.overlap with the islands' rows exchanged; work_number
-- grain:  as there; work_number has one row a spell of a touched person
-- time:   as there
-- Spells are numbered along all of a person's time: a spell more or less moves the numbers of those after it.
create or replace temp table work_number as
select
    person, start_us, old, is_new, row_number() over (partition by person order by start_us) as spell
from (
    select person, start_us, spell as old, false as is_new from work_own_spell where not gone
    union all
    select person, start_us, spell, true from work_spell
);
delete from facts.bout_piece where rowid in (
    select b.id from work_own_piece b semi join work_own_spell p
    on p.person = b.person and p.spell = b.spell and p.gone
);
delete from facts.spell where rowid in (select id from work_own_spell where gone);
delete from facts.overlap o using work_island i
where o.person = i.person and o.start_us >= i.from_us and o.start_us <= i.to_us;
insert into facts.overlap from work_overlap
