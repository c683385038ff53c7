-- output: symptom facts that no answer bears out, and answers that reached no symptom fact
-- grain:  one row a person, month and region
-- time:   month
with answered as (
    select person, date_trunc('month', month)::date as month, region, max(score) as score
    from core.surveys
    where score is not null and scale = 'NRS_0_10'
    group by person, date_trunc('month', month)::date, region
)
select concat_ws(' ', person, month, region) as offender
from answered a
full join facts.symptom s using (person, month, region)
where a.score is distinct from s.score
