-- What a shop asks about, and what somebody confirmed.

-- +goose Up
-- Chances that a number is wrong, from which on it is noted, asked about and refused; NULL: the
-- program's own, and for refusing never.
ALTER TABLE shops
    ADD COLUMN check_note    double precision CONSTRAINT shops_check_note CHECK (check_note > 0 AND check_note < 1),
    ADD COLUMN check_confirm double precision CONSTRAINT shops_check_confirm CHECK (check_confirm > 0 AND check_confirm < 1),
    ADD COLUMN check_refuse  double precision CONSTRAINT shops_check_refuse CHECK (check_refuse > 0 AND check_refuse < 1);

-- Which numbers an order was confirmed with, and as what mistake each had been taken. It tells of a
-- body, and goes with an erasure as notes do.
ALTER TABLE order_events ADD COLUMN confirmed jsonb;
ALTER TABLE order_events DROP CONSTRAINT order_events_erased,
    ADD CONSTRAINT order_events_erased CHECK (erased_at IS NULL OR note IS NULL AND confirmed IS NULL);
DROP TRIGGER order_events_immutable ON order_events;
CREATE TRIGGER order_events_immutable BEFORE UPDATE OR DELETE ON order_events
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('note', 'confirmed');

-- +goose Down
DROP TRIGGER order_events_immutable ON order_events;
CREATE TRIGGER order_events_immutable BEFORE UPDATE OR DELETE ON order_events
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('note');
ALTER TABLE order_events DROP CONSTRAINT order_events_erased, DROP COLUMN confirmed;
ALTER TABLE order_events ADD CONSTRAINT order_events_erased CHECK (erased_at IS NULL OR note IS NULL);
ALTER TABLE shops DROP COLUMN check_note, DROP COLUMN check_confirm, DROP COLUMN check_refuse;
