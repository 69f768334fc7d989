-- Added while coupons had an origin: one brought in from a file, and coupon 4 measured at last.
INSERT INTO coupon (id, shop_id, number) VALUES (8, 1, 7);
INSERT INTO coupon_revision (id, shop_id, coupon_id, revision, made_at, welder_id, machine_id,
    stack_id, turned_over, job, cap_shape, face_mm, cap_material, welds_since_dressing, "current_kA",
    weld_ms, "force_kN", squeeze_ms, hold_ms, pause_ms, "pre_current_kA", pre_ms, pulses, test,
    expulsion, edge_weld, cracks, notes, outcome, reasons, rules_id, voided, why, recorded_by,
    recorded_at, origin) VALUES
  (10, 1, 8, 1, '2025-04-01 08:00:00.000000', 2, 2, 1, 0, '', 'cone', 5.0, 'CuCrZr', NULL, 7.0, 200.0, 2.2, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'peel', 0, 0, 0, '', 'fail', '[["fail", "3.25 mm against 3.58 mm = 4√0.8: fail by 0.33 mm"], ["pass", "button pulled: pass"]]', 3, '', '', 'Ann Sample', '2025-04-02 08:10:00.000000', 'imported'),
  (11, 1, 5, 2, '2024-12-19 09:12:00.000000', 1, 2, 1, 0, '', 'cone', 5.0, 'CuCrZr', NULL, 7.5, 200.0, 2.2, 0.0, 0.0, 0.0, 3.0, 60.0, 1, 'peel', 0, 0, 0, '', 'fail', '[["fail", "3.25 mm against 3.58 mm = 4√0.8: fail by 0.33 mm"], ["pass", "button pulled: pass"]]', 3, '', 'measured now', 'Bo Exämple', '2025-04-02 09:10:00.000000', '');
INSERT INTO interface_result (coupon_revision_id, position, shop_id, smallest_mm, largest_mm,
    failure) VALUES
  (10, 0, 1, 3.1, 3.4, 'button'),
  (11, 0, 1, 3.1, 3.4, 'button');
