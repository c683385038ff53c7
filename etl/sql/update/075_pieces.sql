-- output: work_near_piece, the pieces of bouts around the islands before and after the change; work_piece, those
--         after it; work_day, the days to reckon anew
-- grain:  one row a piece; spell is the number after the change; one row a person and local day
-- time:   start_us to end_us, microseconds UTC; local_date
-- id is the row of a piece that stood before, null for a new one, of which all columns are here. The day of the spell
-- before an island counts the rest up to it, so it is reckoned anew as well.
create or replace temp table work_near_piece as
select
    b.rowid as id, b.person, b.local_date, b.team, b.start_us, b.end_us, b.strokes, b.beyond_guide_us,
    b.force_time_mn_ms, b.peak_force_mn, n.spell, n.gone, n.last_before
from facts.bout_piece b
join work_near_spell n on n.person = b.person and n.id is not null and n.number = b.spell
where b.start_us >= {first_us} and b.start_us <= {last_us}
union all by name
select b.* replace (n.spell as spell), false as gone, false as last_before
from work_piece b join work_near_spell n on n.person = b.person and n.id is null and n.number = b.spell;
drop table work_piece;
create temp view work_piece as select * exclude (id, gone, last_before) from work_near_piece where not gone;
create or replace temp table work_day as
select person, local_date from work_near_piece where id is null or gone
union
select person, max(local_date) from work_near_piece where last_before group by person, spell
