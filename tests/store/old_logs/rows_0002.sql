-- Added while the log had adhesive clocks: one that runs, one that was stopped.
INSERT INTO adhesive_clock (id, shop_id, adhesive_id, used_for, mixed_at, started_by, stopped_at,
    stopped_by) VALUES
  (1, 1, 1, 'Sill, outer', '2025-02-03 08:00:00.000000', 'Ann Sample', NULL, NULL),
  (2, 1, 1, 'coupons', '2025-02-03 07:00:00.000000', 'Bo Exämple', '2025-02-03 07:45:00.000000', 'Ann Sample');
INSERT INTO clock_reading (id, shop_id, adhesive_clock_id, at, "degC", recorded_by) VALUES
  (1, 1, 1, '2025-02-03 08:00:00.000000', 21.5, 'Ann Sample'),
  (2, 1, 2, '2025-02-03 07:00:00.000000', 19.0, 'Bo Exämple'),
  (3, 1, 1, '2025-02-03 08:20:00.000000', 24.0, 'Bo Exämple');
