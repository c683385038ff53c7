-- output: teams a change is compared with
-- grain:  one row a team
-- time:   a change of the same kind at work between $begin and $end rules a team out
select distinct team
from core.teams
where team not in (select team from core.changes where change = $change)
    and team not in (
        select team from core.changes
        where kind = $kind and coalesce(started, completed) <= $end and coalesce(completed, started) >= $begin
    )
order by team
