-- output: answers of a year and of the year before, of everybody on a team, for statements on the organisation
-- grain:  one row a person, month and region
-- time:   month_number = 12 * year + month - 1, from $first to $month
-- Person rows: read by the release job, which states rounded results on at least 100 people and keeps none.
select
    person, region, (12 * year(month) + month(month) - 1)::integer as month_number, is_case,
    coalesce(score::double, 'nan'::double) as score
from facts.symptom
where team is not null and month between $first and $month
order by region, person, month
