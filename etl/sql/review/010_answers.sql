-- output: answered discomfort with the month as a running number, for the custodian's review
-- grain:  one row a person, month and region
-- time:   month_number = 12 * year + month - 1, up to $month
-- Person rows: they stay in the process of the data custodian and go into no release. A rating on another scale than
-- that of $month is none here, also where the scales were bridged: the bridge moves the mark, not the ratings.
select
    s.person, s.region, coalesce(s.team, '') as team,
    coalesce(case when r.scale = n.scale then s.score end, 'nan'::double) as score, s.is_case,
    (12 * year(s.month) + month(s.month) - 1)::integer as month_number
from facts.symptom s
asof join facts.case_rule r on s.month >= r.since
cross join (select arg_max(scale, since) as scale from facts.case_rule where since <= $month) n
where s.month <= $month
order by s.region, s.person, month_number
