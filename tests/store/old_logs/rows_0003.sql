-- Added while the log had releases: two of one joint, and a coupon of three sheets.
INSERT INTO release (id, shop_id, joint_id, setting, evidence, note, released_by, released_at) VALUES
  (1, 1, 1, '{"current_kA": 9.7, "weld_ms": 180.0, "force_kN": 3.1, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}', '[[2, 1]]', '', 'Bo Exämple', '2025-03-03 08:00:00.000000'),
  (2, 1, 1, '{"current_kA": 9.7, "weld_ms": 180.0, "force_kN": 3.1, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}', '[[2, 2]]', 'after the second reading', 'Ann Sample', '2025-03-03 09:00:00.000000');
INSERT INTO stack (id, shop_id, fingerprint, body, title, sheets, adhesive_state) VALUES
  (4, 1, 'e2314ad5d88566198fb8608de20eaeb5dd332d185c77267859fae08b86d5c0a3', '{"bonds": [{"adhesive": "", "state": "none"}, {"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.0, "upper": "bare"}]}', '0.8 + 1.2 + 1 mm · low-carbon · bare · no adhesive', 3, 'none');
INSERT INTO coupon (id, shop_id, number) VALUES (7, 1, 6);
INSERT INTO coupon_revision (id, shop_id, coupon_id, revision, made_at, welder_id, machine_id,
    stack_id, turned_over, job, cap_shape, face_mm, cap_material, welds_since_dressing, "current_kA",
    weld_ms, "force_kN", squeeze_ms, hold_ms, pause_ms, "pre_current_kA", pre_ms, pulses, test,
    expulsion, edge_weld, cracks, notes, outcome, reasons, rules_id, voided, why, recorded_by,
    recorded_at) VALUES
  (9, 1, 7, 1, '2025-03-04 08:00:00.000000', 1, 1, 4, 0, '', 'dome', 6.0, 'CuCrZr', NULL, 10.2, 260.0, 3.4, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'peel', 0, 0, 1, '', 'fail', '[["pass", "interface 1 (0.8 on 1.2 mm): 4.4 mm against 3.58 mm = 4√0.8: pass by 0.82 mm"], ["pass", "interface 1 (0.8 on 1.2 mm): button pulled: pass"], ["fail", "interface 2 (1.2 on 1 mm): no fusion, no diameter to measure: fail"]]', 3, '', '', 'Ann Sample', '2025-03-04 08:10:00.000000');
INSERT INTO interface_result (coupon_revision_id, position, shop_id, smallest_mm, largest_mm,
    failure) VALUES
  (9, 0, 1, 4.4, 4.4, 'button'),
  (9, 1, 1, NULL, NULL, 'no_fusion');
