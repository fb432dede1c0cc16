-- What queries read of the job queue's table, which River's own migrations make.
CREATE TABLE river_job (
    id           bigint      PRIMARY KEY,
    state        text        NOT NULL,
    kind         text        NOT NULL,
    args         jsonb       NOT NULL,
    attempt      smallint    NOT NULL,
    max_attempts smallint    NOT NULL,
    scheduled_at timestamptz NOT NULL,
    attempted_at timestamptz,
    finalized_at timestamptz
);
