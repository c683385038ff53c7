-- output: each person's pipetting time by task, instrument and weekday
-- grain:  one row a unit, person, kind of part and part
-- time:   local days from $from (included) to $to (not included); whole microseconds
with piece as (
    select g.level, g.unit, b.person, b.task, b.instrument, b.local_date, b.end_us - b.start_us as us
    from facts.bout_piece b join release_group g on g.team = b.team
    where b.local_date >= $from and b.local_date < $to
),
part as (
    select level, unit, person, 'task' as part_kind, task as part, us from piece
    union all
    select level, unit, person, 'instrument', instrument, us from piece
    union all
    select level, unit, person, 'weekday', upper(dayname(local_date)), us from piece
)
select level, unit, person, part_kind, part, sum(us)::bigint as us
from part
where part is not null
group by level, unit, person, part_kind, part
order by part_kind, part, level, unit, person
