-- output: work_piece, the islands' new pieces alone
-- grain:  one row a piece
-- time:   start_us to end_us, microseconds UTC; local_date
create or replace temp table work_piece as
from work_new_piece
