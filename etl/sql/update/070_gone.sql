-- output: facts.spell and facts.bout_piece without the islands' rows; work_gone, those pieces
-- grain:  one row a piece
-- time:   local_date
-- Rows first, then the deletion: to return what it takes out, it would read every column of all it looks at.
create or replace temp table work_gone as
select b.rowid as id, b.person, b.local_date
from facts.bout_piece b
join work_island i on i.person = b.person and b.start_us between i.from_us and i.to_us
where b.start_us between {first_us} and {last_us};
delete from facts.bout_piece where rowid in (select id from work_gone);
delete from facts.spell p using work_island i
where i.person = p.person and p.start_us between i.from_us and i.to_us and p.start_us between {first_us} and {last_us}
