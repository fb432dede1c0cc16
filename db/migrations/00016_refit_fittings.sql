-- What a refit does to the fit of some of its orders: each tried on in its present draft and in the one
-- that it would be given.

-- +goose Up
CREATE TABLE refit_fittings (
    refit_id    uuid        NOT NULL,
    order_id    uuid        NOT NULL,
    shop_id     uuid        NOT NULL,
    level       text        NOT NULL CONSTRAINT refit_fittings_level CHECK (level IN ('quick', 'full')),
    cloth       text        CONSTRAINT refit_fittings_cloth CHECK (cloth <> ''), -- name of a preset; NULL: by style
    state       text        NOT NULL CONSTRAINT refit_fittings_state CHECK (state IN ('queued', 'ready', 'failed', 'cancelled')),
    before      jsonb,      -- what was found of the present draft; tells of the body
    after       jsonb,      -- and of the one that it would be given
    picture     bytea,      -- of both, side by side, packed
    reason      text        CONSTRAINT refit_fittings_reason CHECK (char_length(reason) BETWEEN 1 AND 1000), -- why it failed
    engine      text,       -- version of the program that tried them on
    created_at  timestamptz NOT NULL,
    finished_at timestamptz,
    PRIMARY KEY (refit_id, order_id),
    FOREIGN KEY (refit_id, order_id) REFERENCES refit_orders (refit_id, order_id),
    FOREIGN KEY (shop_id, refit_id) REFERENCES refits (shop_id, id),
    CONSTRAINT refit_fittings_ready CHECK ((state = 'ready') = (before IS NOT NULL)
        AND (before IS NULL) = (after IS NULL) AND (before IS NULL) = (picture IS NULL)),
    CONSTRAINT refit_fittings_failed CHECK ((state = 'failed') = (reason IS NOT NULL)),
    CONSTRAINT refit_fittings_finished CHECK ((state = 'queued') = (finished_at IS NULL))
);
ALTER TABLE refit_fittings ALTER COLUMN picture SET STORAGE EXTERNAL; -- compressed already
CREATE INDEX refit_fittings_open ON refit_fittings (refit_id) WHERE finished_at IS NULL;
CREATE INDEX refit_fittings_order ON refit_fittings (order_id);

-- +goose Down
DROP TABLE refit_fittings;
