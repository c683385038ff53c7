-- output: the register with the number of versions each entry has had
-- grain:  one row a change
-- time:   planned, started and completed are DATEs
select
    c.change, c.title, c.team, c.kind, c.status, c.planned, c.started, c.completed, c.adherence_percent,
    c.allocation, c.lot,
    (select count(*) from core.change_history h where h.change = c.change)::integer as versions
from core.changes c
order by coalesce(c.started, c.planned, c.completed), c.change
