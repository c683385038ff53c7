-- output: ratings that the same people gave on two scales, worse side
-- grain:  one row a person, month and region answered on both
-- time:   any month
select max(score) filter (where scale = $old) as on_old, max(score) filter (where scale = $new) as on_new
from core.surveys
where score is not null and scale in ($old, $new)
group by person, month, region
having count(distinct scale) = 2
order by person, month, region
