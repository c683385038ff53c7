-- output: starts of the plans kept, in the columns of release table plan_start, without the edition
-- grain:  one row a plan and team
-- time:   start as the DATE of its first day
select s.plan, s.step, s.team, s.start, s.follows
from core.plan_start s
join core.plan p on p.plan = s.plan
where p.kept_at::date <= $day
order by s.plan, s.step, s.team
