BEGIN TRANSACTION;
CREATE TABLE adhesive (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	name_key VARCHAR(200) NOT NULL, 
	work_low_min FLOAT NOT NULL, 
	work_high_min FLOAT NOT NULL, 
	clamp_low_min FLOAT NOT NULL, 
	clamp_high_min FLOAT NOT NULL, 
	cure_low_min FLOAT NOT NULL, 
	cure_high_min FLOAT NOT NULL, 
	"label_degC" FLOAT NOT NULL, 
	note VARCHAR(2000) NOT NULL, 
	CONSTRAINT pk_adhesive PRIMARY KEY (id), 
	CONSTRAINT fk_adhesive_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_adhesive_shop_id UNIQUE (shop_id, name_key)
);
INSERT INTO "adhesive" VALUES(1,1,'Invented epoxy','invented epoxy',40.0,50.0,90.0,120.0,1440.0,1440.0,23.0,'made up');
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE change_log (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	who VARCHAR(200) NOT NULL, 
	what VARCHAR(1000) NOT NULL, 
	"before" TEXT, 
	"after" TEXT, 
	CONSTRAINT pk_change_log PRIMARY KEY (id), 
	CONSTRAINT fk_change_log_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "change_log" VALUES(1,1,'2024-11-04 07:01:00.000000','Ann Sample','welder Ann Sample added',NULL,'{}');
INSERT INTO "change_log" VALUES(2,1,'2024-11-04 07:02:00.000000','Ann Sample','machine Gun 1 changed','{"mains_hz": 60.0}','{"mains_hz": 50.0}');
INSERT INTO "change_log" VALUES(3,2,'2024-11-05 07:01:00.000000','Ann Sample','welder Ann Sample added',NULL,'{}');
CREATE TABLE coupon (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	CONSTRAINT pk_coupon PRIMARY KEY (id), 
	CONSTRAINT fk_coupon_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_coupon_shop_id UNIQUE (shop_id, number)
);
INSERT INTO "coupon" VALUES(1,1,1);
INSERT INTO "coupon" VALUES(2,1,2);
INSERT INTO "coupon" VALUES(3,2,1);
INSERT INTO "coupon" VALUES(4,1,3);
INSERT INTO "coupon" VALUES(5,1,4);
INSERT INTO "coupon" VALUES(6,1,5);
CREATE TABLE coupon_revision (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	coupon_id INTEGER NOT NULL, 
	revision INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, 
	welder_id INTEGER NOT NULL, 
	machine_id INTEGER NOT NULL, 
	stack_id INTEGER NOT NULL, 
	turned_over BOOLEAN NOT NULL, 
	job VARCHAR(200) NOT NULL, 
	cap_shape VARCHAR(20) NOT NULL, 
	face_mm FLOAT NOT NULL, 
	cap_material VARCHAR(200) NOT NULL, 
	welds_since_dressing INTEGER, 
	"current_kA" FLOAT NOT NULL, 
	weld_ms FLOAT NOT NULL, 
	"force_kN" FLOAT NOT NULL, 
	squeeze_ms FLOAT NOT NULL, 
	hold_ms FLOAT NOT NULL, 
	pause_ms FLOAT NOT NULL, 
	"pre_current_kA" FLOAT NOT NULL, 
	pre_ms FLOAT NOT NULL, 
	pulses INTEGER NOT NULL, 
	test VARCHAR(20) NOT NULL, 
	expulsion BOOLEAN NOT NULL, 
	edge_weld BOOLEAN NOT NULL, 
	cracks BOOLEAN NOT NULL, 
	notes TEXT NOT NULL, 
	outcome VARCHAR(10) NOT NULL, 
	reasons TEXT NOT NULL, 
	rules_id INTEGER NOT NULL, 
	voided TEXT NOT NULL, 
	why TEXT NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	CONSTRAINT pk_coupon_revision PRIMARY KEY (id), 
	CONSTRAINT fk_coupon_revision_coupon_id FOREIGN KEY(coupon_id) REFERENCES coupon (id), 
	CONSTRAINT fk_coupon_revision_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_coupon_revision_rules_id FOREIGN KEY(rules_id) REFERENCES rules (id), 
	CONSTRAINT fk_coupon_revision_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_coupon_revision_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id), 
	CONSTRAINT fk_coupon_revision_welder_id FOREIGN KEY(welder_id) REFERENCES welder (id), 
	CONSTRAINT uq_coupon_revision_coupon_id UNIQUE (coupon_id, revision)
);
INSERT INTO "coupon_revision" VALUES(1,1,1,1,'2024-11-06 08:12:00.000000',1,1,1,1,'','dome',6.0,'CuCrZr',3,9.5,200.0,3.0,300.0,200.0,0.0,0.0,0.0,1,'peel',0,0,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',1,'','','Ann Sample','2024-11-06 08:20:00.000000');
INSERT INTO "coupon_revision" VALUES(2,1,2,1,'2024-11-06 09:12:00.123456',2,1,2,0,'R-1001','dome',6.0,'CuCrZr',NULL,9.7,180.0,3.1,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,0,'it''s "thin"; 100 %','fail','[["fail", "3.4 mm against 4.00 mm = 4√1: fail by 0.60 mm"], ["pass", "button pulled: pass"]]',1,'','','Bo Exämple','2024-11-06 09:20:00.000000');
INSERT INTO "coupon_revision" VALUES(3,2,3,1,'2024-11-12 09:12:00.000000',3,3,3,0,'','flat',5.5,'Cu',NULL,8.8,160.0,2.4,0.0,0.0,0.0,0.0,0.0,1,'chisel',0,0,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',2,'','','Ann Sample','2024-11-12 09:20:00.000000');
INSERT INTO "coupon_revision" VALUES(4,1,2,2,'2024-11-06 09:12:00.123456',2,1,2,0,'R-1001','dome',6.0,'CuCrZr',NULL,9.7,180.0,3.1,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,0,'it''s "thin"; 100 %','pass','[["pass", "5.25 mm against 4.00 mm = 4√1: pass by 1.25 mm"], ["pass", "button pulled: pass"]]',1,'','caliper read wrong','Ann Sample','2024-11-06 10:00:00.000000');
INSERT INTO "coupon_revision" VALUES(5,1,4,1,'2024-11-07 09:12:00.000000',2,2,1,0,'','cone',5.0,'CuCrZr',12,8.0,200.0,2.2,0.0,0.0,40.0,0.0,0.0,2,'peel',1,0,0,'','fail','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]',1,'','','Bo Exämple','2024-11-07 09:20:00.000000');
INSERT INTO "coupon_revision" VALUES(6,1,4,2,'2024-11-07 09:12:00.000000',2,2,1,0,'','cone',5.0,'CuCrZr',12,8.0,200.0,2.2,0.0,0.0,40.0,0.0,0.0,2,'peel',1,0,0,'','fail','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]',1,'wrong sheets taken','wrong sheets taken','Ann Sample','2024-11-07 11:00:00.000000');
INSERT INTO "coupon_revision" VALUES(7,1,5,1,'2024-12-19 09:12:00.000000',1,2,1,0,'','cone',5.0,'CuCrZr',NULL,7.5,200.0,2.2,0.0,0.0,0.0,3.0,60.0,1,'peel',0,0,0,'','open','[["open", "diameters not written down yet"]]',1,'','','Ann Sample','2024-12-19 09:20:00.000000');
INSERT INTO "coupon_revision" VALUES(8,1,6,1,'2024-12-31 23:30:00.000000',2,1,1,0,'','dome',6.0,'CuCrZr',NULL,9.9,200.0,3.0,0.0,0.0,0.0,0.0,0.0,1,'peel',1,1,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',3,'','','Bo Exämple','2024-12-31 23:40:00.000000');
CREATE TABLE interface_result (
	coupon_revision_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	smallest_mm FLOAT, 
	largest_mm FLOAT, 
	failure VARCHAR(30), 
	CONSTRAINT pk_interface_result PRIMARY KEY (coupon_revision_id, position), 
	CONSTRAINT fk_interface_result_coupon_revision_id FOREIGN KEY(coupon_revision_id) REFERENCES coupon_revision (id), 
	CONSTRAINT fk_interface_result_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "interface_result" VALUES(1,0,1,4.6,5.0,'button');
INSERT INTO "interface_result" VALUES(2,0,1,3.3,3.5,'button');
INSERT INTO "interface_result" VALUES(3,0,2,4.6,5.0,'button');
INSERT INTO "interface_result" VALUES(4,0,1,5.1,5.4,'button');
INSERT INTO "interface_result" VALUES(5,0,1,4.6,5.0,'button');
INSERT INTO "interface_result" VALUES(6,0,1,4.6,5.0,'button');
INSERT INTO "interface_result" VALUES(7,0,1,NULL,NULL,NULL);
INSERT INTO "interface_result" VALUES(8,0,1,4.6,5.0,'button');
CREATE TABLE job (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	number VARCHAR(200) NOT NULL, 
	opened_at DATETIME NOT NULL, 
	closed_at DATETIME, 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT fk_job_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_job_shop_id UNIQUE (shop_id, number)
);
INSERT INTO "job" VALUES(1,1,'R-1001','2024-11-06 07:00:00.000000',NULL);
INSERT INTO "job" VALUES(2,1,'r-1000','2024-11-05 07:00:00.000000','2024-11-08 15:00:00.000000');
CREATE TABLE joint (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	job_id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	stack_id INTEGER NOT NULL, 
	turned_over BOOLEAN NOT NULL, 
	machine_id INTEGER NOT NULL, 
	setting TEXT, 
	welds INTEGER, 
	pitch_mm FLOAT, 
	CONSTRAINT pk_joint PRIMARY KEY (id), 
	CONSTRAINT fk_joint_job_id FOREIGN KEY(job_id) REFERENCES job (id), 
	CONSTRAINT fk_joint_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_joint_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_joint_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id)
);
INSERT INTO "joint" VALUES(1,1,1,'Sill, outer',2,0,1,NULL,24,35.0);
INSERT INTO "joint" VALUES(2,1,2,'Floor seam',1,1,2,'{"current_kA": 8.0, "weld_ms": 200, "force_kN": 2.2, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}',NULL,NULL);
CREATE TABLE machine (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	name_key VARCHAR(200) NOT NULL, 
	"largest_current_kA" FLOAT NOT NULL, 
	"smallest_current_kA" FLOAT NOT NULL, 
	"largest_force_kN" FLOAT NOT NULL, 
	"smallest_force_kN" FLOAT NOT NULL, 
	mains_hz FLOAT NOT NULL, 
	is_inverter BOOLEAN NOT NULL, 
	"force_kN_per_bar" FLOAT, 
	"force_offset_kN" FLOAT NOT NULL, 
	CONSTRAINT pk_machine PRIMARY KEY (id), 
	CONSTRAINT fk_machine_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_machine_shop_id UNIQUE (shop_id, name_key)
);
INSERT INTO "machine" VALUES(1,1,'Gun 1','gun 1',14.0,2.0,5.0,1.0,50.0,1,0.6,-0.1);
INSERT INTO "machine" VALUES(2,1,'Gun 2','gun 2',10.0,0.5,3.5,0.5,50.0,0,NULL,0.0);
INSERT INTO "machine" VALUES(3,2,'Gun 1','gun 1',12.0,0.5,4.0,0.5,60.0,1,NULL,0.0);
CREATE TABLE machine_event (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	machine_id INTEGER NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	at DATETIME NOT NULL, 
	cap_shape VARCHAR(20), 
	face_mm FLOAT, 
	cap_material VARCHAR(200), 
	note VARCHAR(2000) NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	CONSTRAINT pk_machine_event PRIMARY KEY (id), 
	CONSTRAINT fk_machine_event_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_machine_event_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "machine_event" VALUES(1,1,1,'fitted','2024-11-04 07:20:00.000000','dome',6.0,'CuCrZr','','Ann Sample','2024-11-04 07:21:00.000000');
INSERT INTO "machine_event" VALUES(2,1,1,'dressed','2024-11-11 07:20:00.000000',NULL,NULL,NULL,'','Bo Exämple','2024-11-11 07:21:00.000000');
INSERT INTO "machine_event" VALUES(3,2,3,'repaired','2024-11-12 07:20:00.000000',NULL,NULL,NULL,'cable replaced','Ann Sample','2024-11-12 07:21:00.000000');
CREATE TABLE preference (
	shop_id INTEGER NOT NULL, 
	who VARCHAR(200) NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_preference PRIMARY KEY (shop_id, who, name), 
	CONSTRAINT fk_preference_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "preference" VALUES(1,'ann sample','thickness','in');
INSERT INTO "preference" VALUES(2,'ann sample','force','lbf');
CREATE TABLE rules (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	body TEXT NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	CONSTRAINT pk_rules PRIMARY KEY (id), 
	CONSTRAINT fk_rules_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "rules" VALUES(1,1,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-11-04 07:10:00.000000');
INSERT INTO "rules" VALUES(2,2,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-11-05 07:10:00.000000');
INSERT INTO "rules" VALUES(3,1,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 14, "passes_in_a_row": 3, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "noted", "interface_failure": "fails", "largest_aspect": 1.5, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-12-20 07:10:00.000000');
CREATE TABLE shop (
	id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	is_demo BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	CONSTRAINT pk_shop PRIMARY KEY (id)
);
INSERT INTO "shop" VALUES(1,'Shop',0,'2024-11-04 07:00:00.000000');
INSERT INTO "shop" VALUES(2,'Second shop',0,'2024-11-05 07:00:00.000000');
CREATE TABLE stack (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	fingerprint VARCHAR(64) NOT NULL, 
	body TEXT NOT NULL, 
	title VARCHAR(1000) NOT NULL, 
	sheets INTEGER NOT NULL, 
	adhesive_state VARCHAR(20) NOT NULL, 
	CONSTRAINT pk_stack PRIMARY KEY (id), 
	CONSTRAINT fk_stack_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_stack_shop_id UNIQUE (shop_id, fingerprint)
);
INSERT INTO "stack" VALUES(1,1,'eb587ab5f52643f2098ff0f3b74a0d27c72e7c8bb0159090096fa4c3c0d393c6','{"bonds": [{"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}]}','0.8 + 1.2 mm · low-carbon · bare · no adhesive',2,'none');
INSERT INTO "stack" VALUES(2,1,'d31ca2750ac9f641766eaa890d31d79fa4a4b6779ce4746493c107b8860679da','{"bonds": [{"adhesive": "Invented epoxy", "state": "wet"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "ground_bare", "thickness_mm": 1.0, "upper": "ground_bare"}, {"family": "low_carbon", "grade": "", "lower": "ground_bare", "thickness_mm": 1.0, "upper": "ground_bare"}]}','1 + 1 mm · low-carbon · ground bare · Invented epoxy, wet',2,'wet');
INSERT INTO "stack" VALUES(3,2,'eb587ab5f52643f2098ff0f3b74a0d27c72e7c8bb0159090096fa4c3c0d393c6','{"bonds": [{"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}]}','0.8 + 1.2 mm · low-carbon · bare · no adhesive',2,'none');
CREATE TABLE welder (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	name_key VARCHAR(200) NOT NULL, 
	CONSTRAINT pk_welder PRIMARY KEY (id), 
	CONSTRAINT fk_welder_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_welder_shop_id UNIQUE (shop_id, name_key)
);
INSERT INTO "welder" VALUES(1,1,'Ann Sample','ann sample');
INSERT INTO "welder" VALUES(2,1,'Bo Exämple','bo exämple');
INSERT INTO "welder" VALUES(3,2,'Ann Sample','ann sample');
CREATE INDEX ix_revision_counts ON coupon_revision (shop_id, made_at, welder_id, machine_id, stack_id, outcome, coupon_id, revision);
CREATE INDEX ix_revision_job ON coupon_revision (shop_id, job);
CREATE INDEX ix_revision_machine ON coupon_revision (shop_id, machine_id, made_at);
CREATE INDEX ix_joint_job ON joint (job_id);
CREATE INDEX ix_machine_event_machine ON machine_event (machine_id, at);
CREATE TRIGGER coupon_no_update BEFORE UPDATE ON coupon BEGIN SELECT RAISE(ABORT, 'coupon is never changed or deleted'); END;
CREATE TRIGGER coupon_no_delete BEFORE DELETE ON coupon BEGIN SELECT RAISE(ABORT, 'coupon is never changed or deleted'); END;
CREATE TRIGGER coupon_revision_no_update BEFORE UPDATE ON coupon_revision BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END;
CREATE TRIGGER coupon_revision_no_delete BEFORE DELETE ON coupon_revision BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END;
CREATE TRIGGER interface_result_no_update BEFORE UPDATE ON interface_result BEGIN SELECT RAISE(ABORT, 'interface_result is never changed or deleted'); END;
CREATE TRIGGER interface_result_no_delete BEFORE DELETE ON interface_result BEGIN SELECT RAISE(ABORT, 'interface_result is never changed or deleted'); END;
CREATE TRIGGER rules_no_update BEFORE UPDATE ON rules BEGIN SELECT RAISE(ABORT, 'rules is never changed or deleted'); END;
CREATE TRIGGER rules_no_delete BEFORE DELETE ON rules BEGIN SELECT RAISE(ABORT, 'rules is never changed or deleted'); END;
CREATE TRIGGER machine_event_no_update BEFORE UPDATE ON machine_event BEGIN SELECT RAISE(ABORT, 'machine_event is never changed or deleted'); END;
CREATE TRIGGER machine_event_no_delete BEFORE DELETE ON machine_event BEGIN SELECT RAISE(ABORT, 'machine_event is never changed or deleted'); END;
CREATE TRIGGER change_log_no_update BEFORE UPDATE ON change_log BEGIN SELECT RAISE(ABORT, 'change_log is never changed or deleted'); END;
CREATE TRIGGER change_log_no_delete BEFORE DELETE ON change_log BEGIN SELECT RAISE(ABORT, 'change_log is never changed or deleted'); END;
COMMIT;
