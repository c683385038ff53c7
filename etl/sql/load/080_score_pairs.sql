-- output: how the file's scores go with the last ones the same persons gave before
-- grain:  one row: pairs, and Spearman's rank correlation of them (ties share their mean rank)
-- time:   the last answered month before the answer's own
with answer as (
    select person__v as person, region__v as region, side__v as side, month__v as month, score__v as score
    from typed where ok and score__v is not null and id not in (select id from issues)
),
before as (
    select person, region, side, month, score from core.surveys where score is not null
),
pair as (
    select answer.score as now_score, before.score as then_score
    from answer asof join before
        on answer.person = before.person and answer.region = before.region and answer.side = before.side
        and answer.month > before.month
),
ranked as (
    select
        rank() over (order by now_score) + (count(*) over (partition by now_score) - 1) / 2.0 as now_rank,
        rank() over (order by then_score) + (count(*) over (partition by then_score) - 1) / 2.0 as then_rank
    from pair
)
select
    count(*), case when stddev_pop(now_rank) > 0 and stddev_pop(then_rank) > 0 then corr(now_rank, then_rank) end
from ranked
