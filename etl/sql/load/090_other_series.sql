-- output: how the file asks people, beside how they were asked the last time before
-- grain:  one row a pair of ways (questionnaire, version, scale and mode before and now), with its people
-- time:   a person's first month in the file, and the last earlier month in the store
-- A month in which a person answers on two scales builds a bridge: the way known already counts for it.
with said as (
    select person__v as person, min(month__v) as month
    from typed where ok and id not in (select id from issues) group by person__v
),
now as (
    select t.person__v as person, s.month, t.questionnaire__v as questionnaire, t.version__v as version,
        t.scale__v as scale, t.mode__v as mode
    from typed t join said s on s.person = t.person__v and s.month = t.month__v
    where t.ok and t.id not in (select id from issues)
    group by all
),
before as (
    select person, month, questionnaire, version, scale, mode from core.surveys group by all
),
pair as (
    select n.person,
        b.questionnaire as q0, b.version as v0, b.scale as s0, b.mode as m0,
        n.questionnaire as q1, n.version as v1, n.scale as s1, n.mode as m1,
        (b.questionnaire, b.version, b.scale, b.mode) = (n.questionnaire, n.version, n.scale, n.mode) as same
    from now n asof join before b on b.person = n.person and b.month < n.month
),
one as (select * from pair qualify row_number() over (partition by person order by same desc) = 1)
select q0, v0, s0, m0, q1, v1, s1, m1, count(*) as people
from one
group by all
order by people desc, q0, v0, s0, m0, q1, v1, s1, m1
