-- The job queue's table belongs to River, whose migrations make it. Two of its indexes, by which nobody
-- looks for a job, cost as much to write as the rest of a job.

-- +goose Up
DROP INDEX IF EXISTS river_job_args_index;
DROP INDEX IF EXISTS river_job_metadata_index;

-- +goose Down
CREATE INDEX river_job_args_index ON river_job USING gin (args);
CREATE INDEX river_job_metadata_index ON river_job USING gin (metadata);
