-- output: facts.symptom, answered discomfort by body region
-- grain:  one row a person, month and region of which the answers decide whether it is a case
-- time:   month as the DATE of its first day
-- The worse side counts. Questions not answered are no zero and make no row. Each month is judged by the rule in
-- force then; answers on another scale stay in the store and count nowhere. The team is that of most days of the
-- month. The surveillance definition is that of models/cases.py.
create or replace table facts.symptom as
with home_team as (
    select person, month, arg_max(team, (days_on_team, team)) as team from facts.roster group by person, month
),
said as (
    select
        s.person, date_trunc('month', s.month)::date as month, s.region, s.hindered, s.trouble_7d,
        case when s.scale = r.scale then s.score end as score,
        case r.definition
            when 'score' then case when s.scale = r.scale then s.score >= r.case_score end
            when 'trouble_7d' then s.trouble_7d
            else (s.longest_days >= 7 or s.monthly) and s.severity >= 3 and s.since_job and not s.acute_injury
        end as is_case
    from core.surveys s
    asof join facts.case_rule r on date_trunc('month', s.month)::date >= r.since
)
select
    a.person, a.month, a.region, any_value(t.team) as team, max(a.score) as score,
    bool_or(a.is_case) as is_case, bool_or(a.hindered) as hindered, bool_or(a.trouble_7d) as trouble_7d
from said a
left join home_team t on t.person = a.person and t.month = a.month
where a.is_case is not null
group by a.person, a.month, a.region
order by a.person, a.month, a.region
