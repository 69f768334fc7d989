-- Added while there were drafts: one that somebody left behind.
INSERT INTO draft (shop_id, who, form, body, saved_at) VALUES
  (1, 'kim', 'machine·gun 1', '{"name": "gun 1"}', '2026-03-01 08:00:00.000000');
