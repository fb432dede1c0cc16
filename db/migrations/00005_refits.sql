-- Refits: a change of fit, measurements or style carried to many orders, first as a preview and then,
-- if so decided, as new drafts.

-- +goose Up
CREATE TABLE refits (
    id             uuid        PRIMARY KEY,
    shop_id        uuid        NOT NULL REFERENCES shops,
    status         text        NOT NULL CONSTRAINT refits_status
                               CHECK (status IN ('previewing', 'to_decide', 'applying', 'done', 'stopped')),
    change         jsonb       NOT NULL, -- from what to what
    scope          jsonb       NOT NULL, -- which orders it is for
    paper          text        NOT NULL, -- that pages are counted on
    reason         text        NOT NULL CONSTRAINT refits_reason CHECK (char_length(reason) <= 500), -- '' once erased
    orders         integer     NOT NULL CONSTRAINT refits_orders CHECK (orders >= 0), -- in scope when it began
    created_by     uuid        REFERENCES api_keys,
    created_at     timestamptz NOT NULL,
    previewed_at   timestamptz,
    decision       text        CONSTRAINT refits_decision CHECK (decision IN ('all', 'some', 'none')),
    decided_by     uuid        REFERENCES api_keys,
    decided_at     timestamptz,
    ended_by       uuid        REFERENCES api_keys, -- who stopped it
    ended_at       timestamptz,
    CONSTRAINT refits_of_shop UNIQUE (shop_id, id),
    CONSTRAINT refits_decided CHECK ((decision IS NULL) = (decided_at IS NULL)),
    CONSTRAINT refits_ended CHECK ((status IN ('done', 'stopped')) = (ended_at IS NOT NULL)),
    CONSTRAINT refits_applying_is_decided CHECK (status NOT IN ('applying', 'done') OR decision IS NOT NULL)
);
CREATE INDEX refits_old ON refits (ended_at);
CREATE INDEX refits_running ON refits (id) WHERE status IN ('previewing', 'applying');

-- One order in a refit: what the preview found, and what became of it. Of the draft that a preview
-- makes only the comparison is kept, until retention empties it some time after the refit's end.
CREATE TABLE refit_orders (
    refit_id       uuid        NOT NULL,
    order_id       uuid        NOT NULL,
    shop_id        uuid        NOT NULL,
    batch          integer     NOT NULL, -- the job that works on it
    finding        text        NOT NULL DEFAULT 'waiting' CONSTRAINT refit_orders_finding
                               CHECK (finding IN ('waiting', 'changes', 'unchanged', 'undraftable', 'held', 'failed', 'left_alone')),
    basis_revision integer,    -- the draft that the preview compared with, and
    basis_request  integer,    -- the order's draft request then: while both stay, so does all that was found
    reason_code    text,       -- of a finding that is neither changes nor unchanged; then of the outcome
    faults         jsonb,      -- the same in detail; may tell of the body
    comparison     jsonb,      -- lengths of the garment, and so of the body
    largest        double precision, -- the largest move of any piece, mm
    previewed_at   timestamptz,
    -- NULL until it is decided; chosen until it is done. Then it stays.
    outcome        text        CONSTRAINT refit_orders_outcome CHECK (outcome IN (
        'chosen', 'revised', 'unchanged', 'undraftable', 'held', 'failed', 'left_alone', 'declined', 'stopped')),
    revision       integer,    -- the draft that it was given
    settled_at     timestamptz,
    erased_at      timestamptz,
    PRIMARY KEY (refit_id, order_id),
    FOREIGN KEY (shop_id, refit_id) REFERENCES refits (shop_id, id),
    FOREIGN KEY (shop_id, order_id) REFERENCES orders (shop_id, id),
    CONSTRAINT refit_orders_revision_fkey FOREIGN KEY (order_id, revision) REFERENCES draft_revisions (order_id, number),
    CONSTRAINT refit_orders_previewed CHECK ((finding = 'waiting') = (previewed_at IS NULL)),
    CONSTRAINT refit_orders_settled CHECK ((outcome IS NULL OR outcome = 'chosen') = (settled_at IS NULL)),
    CONSTRAINT refit_orders_revised CHECK ((outcome = 'revised') = (revision IS NOT NULL) OR outcome IS NULL),
    CONSTRAINT refit_orders_erased CHECK (erased_at IS NULL OR (comparison IS NULL AND faults IS NULL))
);
-- What is still to be done, few rows, however many refits there are.
CREATE INDEX refit_orders_waiting ON refit_orders (refit_id, batch) WHERE finding = 'waiting';
-- An order is applied by one refit at a time.
CREATE UNIQUE INDEX refit_orders_chosen ON refit_orders (order_id) WHERE outcome = 'chosen';
CREATE INDEX refit_orders_chosen_batch ON refit_orders (refit_id, batch) WHERE outcome = 'chosen';
CREATE INDEX refit_orders_largest ON refit_orders (refit_id, largest DESC);
CREATE INDEX refit_orders_order ON refit_orders (order_id);
CREATE INDEX refit_orders_compared ON refit_orders (refit_id) WHERE comparison IS NOT NULL OR faults IS NOT NULL;

-- Every order has one finding and one outcome, even if two jobs work on it.
-- +goose StatementBegin
CREATE FUNCTION guard_refit_order() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.finding <> OLD.finding AND OLD.finding <> 'waiting'
        OR NEW.outcome IS DISTINCT FROM OLD.outcome AND OLD.outcome IS NOT NULL AND OLD.outcome <> 'chosen'
        OR NEW.outcome = 'revised' AND OLD.outcome IS DISTINCT FROM 'chosen' AND OLD.outcome IS DISTINCT FROM NEW.outcome THEN
        RAISE EXCEPTION 'an order of a refit that is % and % cannot become % and %', OLD.finding, OLD.outcome, NEW.finding, NEW.outcome
            USING ERRCODE = 'check_violation', TABLE = 'refit_orders', CONSTRAINT = 'refit_orders_once';
    END IF;
    RETURN NEW;
END
$$;
-- +goose StatementEnd
CREATE TRIGGER refit_orders_once BEFORE UPDATE OF finding, outcome ON refit_orders
    FOR EACH ROW EXECUTE FUNCTION guard_refit_order();

ALTER TABLE draft_revisions ADD CONSTRAINT draft_revisions_refit_fkey FOREIGN KEY (refit_id) REFERENCES refits;
ALTER TABLE order_events ADD CONSTRAINT order_events_refit_fkey FOREIGN KEY (refit_id) REFERENCES refits;

-- +goose Down
ALTER TABLE order_events DROP CONSTRAINT order_events_refit_fkey;
ALTER TABLE draft_revisions DROP CONSTRAINT draft_revisions_refit_fkey;
DROP TABLE refit_orders;
DROP FUNCTION guard_refit_order;
DROP TABLE refits;
