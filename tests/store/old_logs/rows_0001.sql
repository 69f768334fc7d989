-- What two invented shops wrote down while the log had its first tables. Nobody here exists.
INSERT INTO shop (id, name, is_demo, created_at) VALUES
  (1, 'Shop', 0, '2024-11-04 07:00:00.000000'),
  (2, 'Second shop', 0, '2024-11-05 07:00:00.000000');
INSERT INTO welder (id, shop_id, name, name_key) VALUES
  (1, 1, 'Ann Sample', 'ann sample'),
  (2, 1, 'Bo Exämple', 'bo exämple'),
  (3, 2, 'Ann Sample', 'ann sample');
INSERT INTO machine (id, shop_id, name, name_key, "largest_current_kA", "smallest_current_kA",
    "largest_force_kN", "smallest_force_kN", mains_hz, is_inverter, "force_kN_per_bar",
    "force_offset_kN") VALUES
  (1, 1, 'Gun 1', 'gun 1', 14.0, 2.0, 5.0, 1.0, 50.0, 1, 0.6, -0.1),
  (2, 1, 'Gun 2', 'gun 2', 10.0, 0.5, 3.5, 0.5, 50.0, 0, NULL, 0.0),
  (3, 2, 'Gun 1', 'gun 1', 12.0, 0.5, 4.0, 0.5, 60.0, 1, NULL, 0.0);
INSERT INTO adhesive (id, shop_id, name, name_key, work_low_min, work_high_min, clamp_low_min,
    clamp_high_min, cure_low_min, cure_high_min, "label_degC", note) VALUES
  (1, 1, 'Invented epoxy', 'invented epoxy', 40.0, 50.0, 90.0, 120.0, 1440.0, 1440.0, 23.0, 'made up');
INSERT INTO rules (id, shop_id, body, recorded_by, recorded_at) VALUES
  (1, 1, '{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}', 'Ann Sample', '2024-11-04 07:10:00.000000'),
  (2, 2, '{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}', 'Ann Sample', '2024-11-05 07:10:00.000000'),
  (3, 1, '{"bare_schedule": "high_force", "coverage": {"bonded_days": 14, "passes_in_a_row": 3, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "noted", "interface_failure": "fails", "largest_aspect": 1.5, "size": {"governing": "each_interface", "k": 4.0}}}', 'Ann Sample', '2024-12-20 07:10:00.000000');
INSERT INTO stack (id, shop_id, fingerprint, body, title, sheets, adhesive_state) VALUES
  (1, 1, 'eb587ab5f52643f2098ff0f3b74a0d27c72e7c8bb0159090096fa4c3c0d393c6', '{"bonds": [{"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}]}', '0.8 + 1.2 mm · low-carbon · bare · no adhesive', 2, 'none'),
  (2, 1, 'd31ca2750ac9f641766eaa890d31d79fa4a4b6779ce4746493c107b8860679da', '{"bonds": [{"adhesive": "Invented epoxy", "state": "wet"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "ground_bare", "thickness_mm": 1.0, "upper": "ground_bare"}, {"family": "low_carbon", "grade": "", "lower": "ground_bare", "thickness_mm": 1.0, "upper": "ground_bare"}]}', '1 + 1 mm · low-carbon · ground bare · Invented epoxy, wet', 2, 'wet'),
  (3, 2, 'eb587ab5f52643f2098ff0f3b74a0d27c72e7c8bb0159090096fa4c3c0d393c6', '{"bonds": [{"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}]}', '0.8 + 1.2 mm · low-carbon · bare · no adhesive', 2, 'none');
INSERT INTO machine_event (id, shop_id, machine_id, kind, at, cap_shape, face_mm, cap_material,
    note, recorded_by, recorded_at) VALUES
  (1, 1, 1, 'fitted', '2024-11-04 07:20:00.000000', 'dome', 6.0, 'CuCrZr', '', 'Ann Sample', '2024-11-04 07:21:00.000000'),
  (2, 1, 1, 'dressed', '2024-11-11 07:20:00.000000', NULL, NULL, NULL, '', 'Bo Exämple', '2024-11-11 07:21:00.000000'),
  (3, 2, 3, 'repaired', '2024-11-12 07:20:00.000000', NULL, NULL, NULL, 'cable replaced', 'Ann Sample', '2024-11-12 07:21:00.000000');
INSERT INTO job (id, shop_id, number, opened_at, closed_at) VALUES
  (1, 1, 'R-1001', '2024-11-06 07:00:00.000000', NULL),
  (2, 1, 'r-1000', '2024-11-05 07:00:00.000000', '2024-11-08 15:00:00.000000');
INSERT INTO joint (id, shop_id, job_id, name, stack_id, turned_over, machine_id, setting, welds,
    pitch_mm) VALUES
  (1, 1, 1, 'Sill, outer', 2, 0, 1, NULL, 24, 35.0),
  (2, 1, 2, 'Floor seam', 1, 1, 2, '{"current_kA": 8.0, "weld_ms": 200, "force_kN": 2.2, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}', NULL, NULL);
INSERT INTO coupon (id, shop_id, number) VALUES
  (1, 1, 1), (2, 1, 2), (3, 2, 1), (4, 1, 3), (5, 1, 4), (6, 1, 5);
INSERT INTO coupon_revision (id, shop_id, coupon_id, revision, made_at, welder_id, machine_id,
    stack_id, turned_over, job, cap_shape, face_mm, cap_material, welds_since_dressing, "current_kA",
    weld_ms, "force_kN", squeeze_ms, hold_ms, pause_ms, "pre_current_kA", pre_ms, pulses, test,
    expulsion, edge_weld, cracks, notes, outcome, reasons, rules_id, voided, why, recorded_by,
    recorded_at) VALUES
  -- passes; sheets written down the other way up
  (1, 1, 1, 1, '2024-11-06 08:12:00.000000', 1, 1, 1, 1, '', 'dome', 6.0, 'CuCrZr', 3, 9.5, 200.0, 3.0, 300.0, 200.0, 0.0, 0.0, 0.0, 1, 'peel', 0, 0, 0, '', 'pass', '[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]', 1, '', '', 'Ann Sample', '2024-11-06 08:20:00.000000'),
  -- written down as a failure
  (2, 1, 2, 1, '2024-11-06 09:12:00.123456', 2, 1, 2, 0, 'R-1001', 'dome', 6.0, 'CuCrZr', NULL, 9.7, 180.0, 3.1, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'peel', 0, 0, 0, 'it''s "thin"; 100 %', 'fail', '[["fail", "3.4 mm against 4.00 mm = 4√1: fail by 0.60 mm"], ["pass", "button pulled: pass"]]', 1, '', '', 'Bo Exämple', '2024-11-06 09:20:00.000000'),
  (3, 2, 3, 1, '2024-11-12 09:12:00.000000', 3, 3, 3, 0, '', 'flat', 5.5, 'Cu', NULL, 8.8, 160.0, 2.4, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'chisel', 0, 0, 0, '', 'pass', '[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]', 2, '', '', 'Ann Sample', '2024-11-12 09:20:00.000000'),
  -- the same coupon 2 read again: it passes
  (4, 1, 2, 2, '2024-11-06 09:12:00.123456', 2, 1, 2, 0, 'R-1001', 'dome', 6.0, 'CuCrZr', NULL, 9.7, 180.0, 3.1, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'peel', 0, 0, 0, 'it''s "thin"; 100 %', 'pass', '[["pass", "5.25 mm against 4.00 mm = 4√1: pass by 1.25 mm"], ["pass", "button pulled: pass"]]', 1, '', 'caliper read wrong', 'Ann Sample', '2024-11-06 10:00:00.000000'),
  (5, 1, 4, 1, '2024-11-07 09:12:00.000000', 2, 2, 1, 0, '', 'cone', 5.0, 'CuCrZr', 12, 8.0, 200.0, 2.2, 0.0, 0.0, 40.0, 0.0, 0.0, 2, 'peel', 1, 0, 0, '', 'fail', '[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]', 1, '', '', 'Bo Exämple', '2024-11-07 09:20:00.000000'),
  -- voided
  (6, 1, 4, 2, '2024-11-07 09:12:00.000000', 2, 2, 1, 0, '', 'cone', 5.0, 'CuCrZr', 12, 8.0, 200.0, 2.2, 0.0, 0.0, 40.0, 0.0, 0.0, 2, 'peel', 1, 0, 0, '', 'fail', '[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]', 1, 'wrong sheets taken', 'wrong sheets taken', 'Ann Sample', '2024-11-07 11:00:00.000000'),
  -- not measured yet
  (7, 1, 5, 1, '2024-12-19 09:12:00.000000', 1, 2, 1, 0, '', 'cone', 5.0, 'CuCrZr', NULL, 7.5, 200.0, 2.2, 0.0, 0.0, 0.0, 3.0, 60.0, 1, 'peel', 0, 0, 0, '', 'open', '[["open", "diameters not written down yet"]]', 1, '', '', 'Ann Sample', '2024-12-19 09:20:00.000000'),
  -- half an hour before the year ends in UTC, expulsion only noted by the newer rules
  (8, 1, 6, 1, '2024-12-31 23:30:00.000000', 2, 1, 1, 0, '', 'dome', 6.0, 'CuCrZr', NULL, 9.9, 200.0, 3.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1, 'peel', 1, 1, 0, '', 'pass', '[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]', 3, '', '', 'Bo Exämple', '2024-12-31 23:40:00.000000');
INSERT INTO interface_result (coupon_revision_id, position, shop_id, smallest_mm, largest_mm,
    failure) VALUES
  (1, 0, 1, 4.6, 5.0, 'button'),
  (2, 0, 1, 3.3, 3.5, 'button'),
  (3, 0, 2, 4.6, 5.0, 'button'),
  (4, 0, 1, 5.1, 5.4, 'button'),
  (5, 0, 1, 4.6, 5.0, 'button'),
  (6, 0, 1, 4.6, 5.0, 'button'),
  (7, 0, 1, NULL, NULL, NULL),
  (8, 0, 1, 4.6, 5.0, 'button');
INSERT INTO preference (shop_id, who, name, value) VALUES
  (1, 'ann sample', 'thickness', 'in'), (2, 'ann sample', 'force', 'lbf');
INSERT INTO change_log (id, shop_id, at, who, what, before, after) VALUES
  (1, 1, '2024-11-04 07:01:00.000000', 'Ann Sample', 'welder Ann Sample added', NULL, '{}'),
  (2, 1, '2024-11-04 07:02:00.000000', 'Ann Sample', 'machine Gun 1 changed', '{"mains_hz": 60.0}', '{"mains_hz": 50.0}'),
  (3, 2, '2024-11-05 07:01:00.000000', 'Ann Sample', 'welder Ann Sample added', NULL, '{}');
