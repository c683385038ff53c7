-- output: how people were asked in a month, without numbers
-- grain:  one row a questionnaire, version and scale
-- time:   $month, the DATE of its first day
select questionnaire, version, scale, list(distinct mode order by mode) as modes
from core.surveys
where date_trunc('month', month)::date = $month
group by questionnaire, version, scale
order by questionnaire, version, scale
