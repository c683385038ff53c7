-- output: adherence month by month, in the columns of release table change_adherence without the edition
-- grain:  one row a change and month; the last note of a month stands
-- time:   month as 2026-10, up to $day
select change, strftime(month, '%Y-%m') as month, arg_max(adherence_percent, noted_at) as adherence_percent
from core.change_adherence
where month <= $day
group by change, strftime(month, '%Y-%m')
order by change, month
