-- output: work_spell, the islands' new spells alone: nothing else lies on their days or near
-- grain:  one row a spell
-- time:   start_us to end_us, microseconds UTC
create or replace temp table work_spell as
from work_new_spell
