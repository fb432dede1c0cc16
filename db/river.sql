-- What queries read of the job queue's table, which River's own migrations make.
CREATE TABLE river_job (
    id           bigint      PRIMARY KEY,
    state        text        NOT NULL,
    kind         text        NOT NULL,
    args         jsonb       NOT NULL,
    scheduled_at timestamptz NOT NULL
);
