-- output: answered discomfort with the month as a running number, for the custodian's review
-- grain:  one row a person, month and region
-- time:   month_number = 12 * year + month - 1, up to $month
-- Person rows: they stay in the process of the data custodian and go into no release.
select
    person, region, coalesce(team, '') as team, coalesce(score::double, 'nan'::double) as score, is_case,
    (12 * year(month) + month(month) - 1)::integer as month_number
from facts.symptom
where month <= $month
order by region, person, month_number
