-- output: facts.event_bucket, facts.source_day, facts.source_extent and facts.built_from, files at hand replaced
-- grain:  as there
-- time:   as there
delete from facts.event_bucket where file_id in (select file_id from work_file);
insert into facts.event_bucket from work_new_bucket;
delete from facts.source_day where file_id in (select file_id from work_file);
insert into facts.source_day from work_new_day;
delete from facts.source_extent where file_id in (select file_id from work_file);
insert into facts.source_extent from work_new_extent;
delete from facts.built_from where file_id in (select file_id from work_file);
insert into facts.built_from select * from {ledger} where file_id in (select file_id from work_file)
