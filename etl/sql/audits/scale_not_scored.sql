-- output: answers on a scale other than that of their series; they are kept and count in no symptom fact
-- grain:  one row a scale
-- time:   the rule in force in the answer's month
select distinct s.scale as offender
from core.surveys s
asof join facts.case_rule r on date_trunc('month', s.month)::date >= r.since
where r.definition = 'score' and s.scale <> r.scale
