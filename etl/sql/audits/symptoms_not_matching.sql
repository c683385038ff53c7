-- output: symptom facts that no answer bears out, and answers that reached no symptom fact
-- grain:  one row a person, month and region
-- time:   month
with rule as (
    select since, lead(since) over (order by since) as until, definition, scale from facts.case_rule
),
answered as (
    select s.person, date_trunc('month', s.month)::date as month, s.region, max(s.score) as score
    from core.surveys s
    join rule r on s.month >= r.since and (r.until is null or s.month < r.until)
    where r.definition = 'score' and s.score is not null and s.scale = r.scale
    group by s.person, date_trunc('month', s.month)::date, s.region
),
rated as (
    select s.* from facts.symptom s
    join rule r on s.month >= r.since and (r.until is null or s.month < r.until)
    where r.definition = 'score'
)
select concat_ws(' ', person, month, region) as offender
from answered a
full join rated s using (person, month, region)
where a.score is distinct from s.score
