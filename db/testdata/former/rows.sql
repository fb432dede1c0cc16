-- A row for each table, as the release before the latest migrations would have left it.
INSERT INTO shops (id, slug, name, link_key, created_at)
VALUES ('00000000-0000-7000-8000-000000000001', 'thimble-row', 'Thimble Row', '\x00', now());
INSERT INTO api_keys (id, shop_id, name, role, prefix, hash, created_at)
VALUES ('00000000-0000-7000-8000-000000000002', '00000000-0000-7000-8000-000000000001', 'till', 'shop', 'tl_abcdefgh', sha256('k'), now());
INSERT INTO audit_entries (shop_id, action, subject_type, at) VALUES ('00000000-0000-7000-8000-000000000001', 'api_key.created', 'api_key', now());
INSERT INTO customers (id, shop_id, reference, name, sets, alterations, created_at, updated_at)
VALUES ('00000000-0000-7000-8000-000000000003', '00000000-0000-7000-8000-000000000001', 'C-1', 'Ada Example', 1, 1, now(), now());
INSERT INTO measurement_sets (id, shop_id, customer_id, version, unit, given, report, created_at)
VALUES ('00000000-0000-7000-8000-000000000004', '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000003', 1, 'cm',
    '{"bust_girth": 92.5}', '{}', now());
INSERT INTO alterations (id, shop_id, customer_id, version, unit, given, created_at)
VALUES ('00000000-0000-7000-8000-000000000005', '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000003', 1, 'cm', '{}', now());
INSERT INTO style_scripts (hash, script, used_at) VALUES (sha256('a = 1'), 'a = 1', now());
INSERT INTO styles (id, shop_id, slug, revisions, created_at)
VALUES ('00000000-0000-7000-8000-000000000006', '00000000-0000-7000-8000-000000000001', 'field-coat', 1, now());
INSERT INTO style_revisions (style_id, number, shop_id, hash, head, warnings, status, created_at)
VALUES ('00000000-0000-7000-8000-000000000006', 1, '00000000-0000-7000-8000-000000000001', sha256('a = 1'), '{}', '[]', 'draft', now());
INSERT INTO style_proofs (id, shop_id, style_id, number, bodies, status, total, created_at)
VALUES ('00000000-0000-7000-8000-000000000007', '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000006', 1, 'panel', 'waiting', 9, now());
INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status, created_at, updated_at)
VALUES ('00000000-0000-7000-8000-000000000008', '00000000-0000-7000-8000-000000000001', 'O-1', '00000000-0000-7000-8000-000000000003',
    '00000000-0000-7000-8000-000000000004', 'api', '{"block": "torso"}', 'received', now(), now());
INSERT INTO order_events (shop_id, order_id, event, to_status, at)
VALUES ('00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000008', 'received', 'received', now());
INSERT INTO draft_revisions (order_id, number, shop_id, measurement_set_id, spec, engine, hash, document, checks, label, created_at)
VALUES ('00000000-0000-7000-8000-000000000008', 1, '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000004',
    '{"block": "torso"}', '1.0.0', sha256('{}'), '{}', '[]', '{}', now());
INSERT INTO download_links (id, shop_id, order_id, revision, format, options, max_uses, created_at, expires_at)
VALUES ('00000000-0000-7000-8000-000000000009', '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-000000000008', 1, 'pdf', '{}', 1,
    now(), now() + interval '1 day');
INSERT INTO inbound_messages (shop_id, message_id, body_hash, order_id, received_at)
VALUES ('00000000-0000-7000-8000-000000000001', 'evt_1', sha256('m'), '00000000-0000-7000-8000-000000000008', now());
INSERT INTO idempotency_keys (shop_id, key, fingerprint, answer, created_at)
VALUES ('00000000-0000-7000-8000-000000000001', 'k', sha256('f'), '{}', now());
INSERT INTO refits (id, shop_id, status, change, scope, paper, reason, orders, created_at)
VALUES ('00000000-0000-7000-8000-00000000000a', '00000000-0000-7000-8000-000000000001', 'previewing', '{}', '{}', 'a4', 'roomier', 1, now());
INSERT INTO refit_orders (refit_id, order_id, shop_id, batch)
VALUES ('00000000-0000-7000-8000-00000000000a', '00000000-0000-7000-8000-000000000008', '00000000-0000-7000-8000-000000000001', 0);
INSERT INTO webhook_endpoints (id, shop_id, url, events, secret, created_at, updated_at)
VALUES ('00000000-0000-7000-8000-00000000000b', '00000000-0000-7000-8000-000000000001', 'https://hooks.example', '{order.ready}', '\x00', now(), now());
INSERT INTO webhook_messages (id, shop_id, endpoint_id, type, body, next_attempt_at, created_at)
VALUES ('00000000-0000-7000-8000-00000000000c', '00000000-0000-7000-8000-000000000001', '00000000-0000-7000-8000-00000000000b', 'order.ready', '{}', now(), now());
INSERT INTO webhook_attempts (message_id, number, outcome, started_at, duration_ms)
VALUES ('00000000-0000-7000-8000-00000000000c', 1, 'no_answer', now(), 1);
