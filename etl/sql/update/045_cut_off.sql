-- output: the number of islands that may reach beyond what was looked at
-- grain:  one row
-- time:   none
-- An island is safe if one window holds it with a rest to spare on either side.
select count(*)
from work_island i
anti join (
    select w.person, w.from_us + s.rest_us as from_us, w.to_us - s.rest_us as to_us
    from work_window w cross join work_setting s
) w on w.person = i.person and w.from_us <= i.from_us and w.to_us >= i.to_us
