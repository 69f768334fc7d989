-- Added while adhesives had beads: one with, and the old one filled in.
INSERT INTO adhesive (id, shop_id, name, name_key, work_low_min, work_high_min, clamp_low_min,
    clamp_high_min, cure_low_min, cure_high_min, "label_degC", note, bead_mm, bond_line_mm) VALUES
  (2, 1, 'Invented fast epoxy', 'invented fast epoxy', 5.0, 8.0, 20.0, 30.0, 240.0, 360.0, 23.0, 'made up', 3.0, 0.3);
UPDATE adhesive SET bead_mm = 4.0 WHERE id = 1;
