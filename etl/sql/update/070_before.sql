-- output: work_own_spell, work_span, work_own_piece, facts of touched persons before the change; work_day, days to reckon anew
-- grain:  one row a spell; a piece; a person and local day
-- time:   local_date
-- Pieces are taken from two days before the spell that precedes the islands to the first spell two days after:
-- that holds every piece of the days to reckon anew and every rest that follows them. The day of the spell
-- before an island counts the rest up to it, so it is reckoned anew as well.
create or replace temp table work_own_spell as
with extent as (
    select person, min(from_us) as from_us, max(to_us) as to_us from work_island group by person
),
near as (
    select p.rowid as id, p.*, p.start_us >= e.from_us and p.start_us <= e.to_us as near
    from facts.spell p join extent e on e.person = p.person
),
gone as (
    select n.id, n.person, n.start_us, i.to_us
    from near n asof join work_island i on i.person = n.person and n.start_us >= i.from_us
    where n.near
)
select n.* exclude (near), g.id is not null as gone
from near n left join gone g on g.id = n.id and g.start_us <= g.to_us;
create or replace temp table work_span as
with extent as (
    select person, min(from_us) as from_us, max(to_us) + 172800000000 as to_us from work_island group by person
)
select
    e.person, coalesce(max(p.end_us) filter (where p.start_us < e.from_us), e.from_us) - 172800000000 as from_us,
    coalesce(min(p.start_us) filter (where p.start_us > e.to_us), e.to_us) as to_us
from extent e left join work_own_spell p on p.person = e.person
group by e.person, e.from_us, e.to_us;
-- The outer limits are constants by the time of the scan, so that what lies far away never reaches the join.
set variable first_us = (select min(from_us) from work_span);
set variable last_us = (select max(to_us) from work_span);
create or replace temp table work_own_piece as
select b.rowid as id, b.*
from facts.bout_piece b
join work_span s on s.person = b.person and s.from_us <= b.start_us and s.to_us >= b.start_us
where b.start_us >= getvariable('first_us') and b.start_us <= getvariable('last_us');
create or replace temp table work_day as
with before as (
    select i.person, max(p.spell) as spell
    from work_island i join work_own_spell p on p.person = i.person and p.start_us < i.from_us
    group by i.person, i.from_us
)
select b.person, b.local_date
from work_own_piece b semi join work_own_spell p on p.person = b.person and p.spell = b.spell and p.gone
union
select person, local_date from work_piece
union
select b.person, max(b.local_date)
from work_own_piece b semi join before p on p.person = b.person and p.spell = b.spell
group by b.person, b.spell
