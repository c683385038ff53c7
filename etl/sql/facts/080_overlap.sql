-- output: work_overlap, bouts that were shortened or left out because they overlap an earlier one
-- grain:  one row a bout concerned
-- time:   start_us to end_us as recorded, microseconds UTC; clipped_us is the length of the overlap
-- strokes are those of the bout: kept whole with W_CLIP, gone from the facts with E_OVERLAP.
create or replace temp table work_overlap as
select
    v.person, v.start_us, v.end_us,
    case when v.kept then 'W_CLIP' else 'E_OVERLAP' end as reason,
    v.clipped_us, l.strokes, l.origin
from work_verdict v
join work_log l on l.person = v.person and l.place = v.place
where not v.kept or v.clipped_us > 0
order by v.person, v.place
