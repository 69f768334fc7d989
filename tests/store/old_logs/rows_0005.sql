-- Added while bonded jobs had checks, recommendations of the welder's maker and usual joints.
INSERT INTO preparation_check (id, shop_id, joint_id, name, answer, measured, recorded_by,
    recorded_at) VALUES
  (1, 1, 1, 'faces_bare', 'open', NULL, 'Bo Exämple', '2025-05-05 08:00:00.000000'),
  (2, 1, 1, 'faces_bare', 'done', NULL, 'Ann Sample', '2025-05-05 08:30:00.000000'),
  (3, 1, 1, 'edge_bevel', 'done', 8.5, 'Ann Sample', '2025-05-05 08:31:00.000000');
INSERT INTO maker_recommendation (id, shop_id, machine_id, stack_id, document, page, settings,
    recorded_by, recorded_at) VALUES
  (1, 1, 1, 2, 'Invented handbook', '12', '9 kA, 3 pulses', 'Ann Sample', '2025-05-06 08:00:00.000000');
INSERT INTO joint_template (id, shop_id, name, name_key, stack_id, turned_over, machine_id, welds,
    pitch_mm) VALUES
  (1, 1, 'Usual sill', 'usual sill', 1, 1, 1, 20, 30.0);
