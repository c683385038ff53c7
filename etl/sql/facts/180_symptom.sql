-- output: facts.symptom, answered discomfort by body region
-- grain:  one row a person, month and region with at least one answered side
-- time:   month as the DATE of its first day
-- The worse side counts. Questions not answered are no zero and make no row. Only the 0-10 rating is a score
-- here; answers on another scale stay in the store. The team is that of most days of the month.
create or replace table facts.symptom as
with home_team as (
    select person, month, arg_max(team, (days_on_team, team)) as team from facts.roster group by person, month
),
worst as (
    select
        person, date_trunc('month', month)::date as month, region,
        max(score)::smallint as score, bool_or(hindered) as hindered
    from core.surveys
    where score is not null and scale = 'NRS_0_10'
    group by person, date_trunc('month', month)::date, region
)
select
    w.person, w.month, w.region, t.team, w.score, w.score >= s.case_score as is_case, w.hindered
from worst w
left join home_team t on t.person = w.person and t.month = w.month
cross join facts.setting s
order by w.person, w.month, w.region
