-- output: core.surveys, with the instrument of each answer and the items of the nine-site questionnaire
-- grain:  one row a person, month, region, side and scale
-- time:   month
-- Answers loaded before were asked by the monthly rating; how they were asked was not recorded.
alter table core.surveys add column questionnaire varchar default 'MONTHLY_RATING';
alter table core.surveys add column version varchar default '1';
alter table core.surveys add column mode varchar default 'UNSTATED';
alter table core.surveys add column trouble_7d boolean;
alter table core.surveys add column trouble_12m boolean;
alter table core.surveys add column hindered_12m boolean;
alter table core.surveys add column longest_days integer;
alter table core.surveys add column monthly boolean;
alter table core.surveys add column severity smallint;
alter table core.surveys add column since_job boolean;
alter table core.surveys add column acute_injury boolean;
alter table core.surveys alter column questionnaire set not null;
alter table core.surveys alter column version set not null;
alter table core.surveys alter column mode set not null;
