-- output: scales on which a month's ratings were given
-- grain:  one row a scale
-- time:   $month, the DATE of its first day
select scale, count(*) from core.surveys
where score is not null and date_trunc('month', month)::date = $month
group by scale order by scale
