BEGIN TRANSACTION;
CREATE TABLE access (
	welder_id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	role VARCHAR(20) NOT NULL, 
	pin VARCHAR(200), 
	email VARCHAR(200), 
	wrong_tries INTEGER DEFAULT '0' NOT NULL, 
	tried_at DATETIME, 
	locked_at DATETIME, 
	left_at DATETIME, 
	CONSTRAINT pk_access PRIMARY KEY (welder_id), 
	CONSTRAINT fk_access_welder_id FOREIGN KEY(welder_id) REFERENCES welder (id), 
	CONSTRAINT fk_access_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "access" VALUES(1,1,'lead',NULL,NULL,0,NULL,NULL,NULL);
INSERT INTO "access" VALUES(2,1,'lead',NULL,NULL,0,NULL,NULL,NULL);
INSERT INTO "access" VALUES(3,2,'lead',NULL,NULL,0,NULL,NULL,NULL);
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
	note VARCHAR(2000) NOT NULL, bead_mm FLOAT, bond_line_mm FLOAT, 
	CONSTRAINT pk_adhesive PRIMARY KEY (id), 
	CONSTRAINT fk_adhesive_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_adhesive_shop_id UNIQUE (shop_id, name_key)
);
INSERT INTO "adhesive" VALUES(1,1,'Invented epoxy','invented epoxy',40.0,50.0,90.0,120.0,1440.0,1440.0,23.0,'made up',4.0,NULL);
INSERT INTO "adhesive" VALUES(2,1,'Invented fast epoxy','invented fast epoxy',5.0,8.0,20.0,30.0,240.0,360.0,23.0,'made up',3.0,0.3);
CREATE TABLE adhesive_clock (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	adhesive_id INTEGER NOT NULL, 
	used_for VARCHAR(200) NOT NULL, 
	mixed_at DATETIME NOT NULL, 
	started_by VARCHAR(200) NOT NULL, 
	stopped_at DATETIME, 
	stopped_by VARCHAR(200), 
	CONSTRAINT pk_adhesive_clock PRIMARY KEY (id), 
	CONSTRAINT fk_adhesive_clock_adhesive_id FOREIGN KEY(adhesive_id) REFERENCES adhesive (id), 
	CONSTRAINT fk_adhesive_clock_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "adhesive_clock" VALUES(1,1,1,'Sill, outer','2025-02-03 08:00:00.000000','Ann Sample',NULL,NULL);
INSERT INTO "adhesive_clock" VALUES(2,1,1,'coupons','2025-02-03 07:00:00.000000','Bo Exämple','2025-02-03 07:45:00.000000','Ann Sample');
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0007');
CREATE TABLE change_log (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	who VARCHAR(200) NOT NULL, 
	what VARCHAR(1000) NOT NULL, 
	"before" TEXT, 
	"after" TEXT, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_change_log PRIMARY KEY (id), 
	CONSTRAINT fk_change_log_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "change_log" VALUES(1,1,'2024-11-04 07:01:00.000000','Ann Sample','welder Ann Sample added',NULL,'{}',1,'b9688f09badc4ef24ac5150888b66872ff77f9ed7f6e56723efe77527415d718');
INSERT INTO "change_log" VALUES(2,1,'2024-11-04 07:02:00.000000','Ann Sample','machine Gun 1 changed','{"mains_hz": 60.0}','{"mains_hz": 50.0}',2,'33cdcc750c3fa688a89a95ab454ec5618f9e7547dd9f004b676144c02daa0a35');
INSERT INTO "change_log" VALUES(3,2,'2024-11-05 07:01:00.000000','Ann Sample','welder Ann Sample added',NULL,'{}',1,'bbcb467d5aae5bc54fea58e911d0d2cc4e8de58c5448ea1aae3703bd10023a87');
CREATE TABLE clock_reading (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	adhesive_clock_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	"degC" FLOAT NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	CONSTRAINT pk_clock_reading PRIMARY KEY (id), 
	CONSTRAINT fk_clock_reading_adhesive_clock_id FOREIGN KEY(adhesive_clock_id) REFERENCES adhesive_clock (id), 
	CONSTRAINT fk_clock_reading_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "clock_reading" VALUES(1,1,1,'2025-02-03 08:00:00.000000',21.5,'Ann Sample');
INSERT INTO "clock_reading" VALUES(2,1,2,'2025-02-03 07:00:00.000000',19.0,'Bo Exämple');
INSERT INTO "clock_reading" VALUES(3,1,1,'2025-02-03 08:20:00.000000',24.0,'Bo Exämple');
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
INSERT INTO "coupon" VALUES(7,1,6);
INSERT INTO "coupon" VALUES(8,1,7);
CREATE TABLE coupon_photo (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	coupon_id INTEGER NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	media VARCHAR(20) NOT NULL, 
	bytes INTEGER NOT NULL, 
	width_px INTEGER NOT NULL, 
	height_px INTEGER NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	place INTEGER NOT NULL, 
	seal VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_coupon_photo PRIMARY KEY (id), 
	CONSTRAINT fk_coupon_photo_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_coupon_photo_coupon_id FOREIGN KEY(coupon_id) REFERENCES coupon (id), 
	CONSTRAINT uq_coupon_photo_coupon_id UNIQUE (coupon_id, sha256)
);
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
	recorded_at DATETIME NOT NULL, origin VARCHAR(200) DEFAULT '' NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_coupon_revision PRIMARY KEY (id), 
	CONSTRAINT fk_coupon_revision_coupon_id FOREIGN KEY(coupon_id) REFERENCES coupon (id), 
	CONSTRAINT fk_coupon_revision_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_coupon_revision_rules_id FOREIGN KEY(rules_id) REFERENCES rules (id), 
	CONSTRAINT fk_coupon_revision_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_coupon_revision_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id), 
	CONSTRAINT fk_coupon_revision_welder_id FOREIGN KEY(welder_id) REFERENCES welder (id), 
	CONSTRAINT uq_coupon_revision_coupon_id UNIQUE (coupon_id, revision)
);
INSERT INTO "coupon_revision" VALUES(1,1,1,1,'2024-11-06 08:12:00.000000',1,1,1,1,'','dome',6.0,'CuCrZr',3,9.5,200.0,3.0,300.0,200.0,0.0,0.0,0.0,1,'peel',0,0,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',1,'','','Ann Sample','2024-11-06 08:20:00.000000','',1,'e46c5c3d20bd2d9205ccd02ed2bc7de8aeca215ae3eaf2d66b12f9b8cb235d61');
INSERT INTO "coupon_revision" VALUES(2,1,2,1,'2024-11-06 09:12:00.123456',2,1,2,0,'R-1001','dome',6.0,'CuCrZr',NULL,9.7,180.0,3.1,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,0,'it''s "thin"; 100 %','fail','[["fail", "3.4 mm against 4.00 mm = 4√1: fail by 0.60 mm"], ["pass", "button pulled: pass"]]',1,'','','Bo Exämple','2024-11-06 09:20:00.000000','',2,'2561eabbd73d1f44d40ba7cd837157185f97767324e3549f2d415d322be5f89b');
INSERT INTO "coupon_revision" VALUES(3,2,3,1,'2024-11-12 09:12:00.000000',3,3,3,0,'','flat',5.5,'Cu',NULL,8.8,160.0,2.4,0.0,0.0,0.0,0.0,0.0,1,'chisel',0,0,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',2,'','','Ann Sample','2024-11-12 09:20:00.000000','',1,'39f700881305c4b97d71249b1191358519e2b739d22d6e976d86fddcef988f72');
INSERT INTO "coupon_revision" VALUES(4,1,2,2,'2024-11-06 09:12:00.123456',2,1,2,0,'R-1001','dome',6.0,'CuCrZr',NULL,9.7,180.0,3.1,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,0,'it''s "thin"; 100 %','pass','[["pass", "5.25 mm against 4.00 mm = 4√1: pass by 1.25 mm"], ["pass", "button pulled: pass"]]',1,'','caliper read wrong','Ann Sample','2024-11-06 10:00:00.000000','',3,'249d9233015e6fa37e98e81c230ec2844cc6e8a2b52b8febe57ccd4021ef3c8e');
INSERT INTO "coupon_revision" VALUES(5,1,4,1,'2024-11-07 09:12:00.000000',2,2,1,0,'','cone',5.0,'CuCrZr',12,8.0,200.0,2.2,0.0,0.0,40.0,0.0,0.0,2,'peel',1,0,0,'','fail','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]',1,'','','Bo Exämple','2024-11-07 09:20:00.000000','',4,'fd9757d4e6478e4227bb6ef46087e3dd4e60e8d3c968a86a3d836e69ef208902');
INSERT INTO "coupon_revision" VALUES(6,1,4,2,'2024-11-07 09:12:00.000000',2,2,1,0,'','cone',5.0,'CuCrZr',12,8.0,200.0,2.2,0.0,0.0,40.0,0.0,0.0,2,'peel',1,0,0,'','fail','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"], ["fail", "expulsion: fail (upper end of the window)"]]',1,'wrong sheets taken','wrong sheets taken','Ann Sample','2024-11-07 11:00:00.000000','',5,'adc912e503de4c093b14e5de42afb291f9ecbea2d0f59ffaaffef7afeb3b8f1f');
INSERT INTO "coupon_revision" VALUES(7,1,5,1,'2024-12-19 09:12:00.000000',1,2,1,0,'','cone',5.0,'CuCrZr',NULL,7.5,200.0,2.2,0.0,0.0,0.0,3.0,60.0,1,'peel',0,0,0,'','open','[["open", "diameters not written down yet"]]',1,'','','Ann Sample','2024-12-19 09:20:00.000000','',6,'6f0a499ba6cffabff41cc699b38bc6666951b0c9d887e87e0e82c0323df081fc');
INSERT INTO "coupon_revision" VALUES(8,1,6,1,'2024-12-31 23:30:00.000000',2,1,1,0,'','dome',6.0,'CuCrZr',NULL,9.9,200.0,3.0,0.0,0.0,0.0,0.0,0.0,1,'peel',1,1,0,'','pass','[["pass", "4.8 mm against 3.58 mm = 4√0.8: pass by 1.22 mm"], ["pass", "button pulled: pass"]]',3,'','','Bo Exämple','2024-12-31 23:40:00.000000','',7,'55a2035abc143f513cb526ec777f02612032aec52db9570c918bb9507f78503b');
INSERT INTO "coupon_revision" VALUES(9,1,7,1,'2025-03-04 08:00:00.000000',1,1,4,0,'','dome',6.0,'CuCrZr',NULL,10.2,260.0,3.4,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,1,'','fail','[["pass", "interface 1 (0.8 on 1.2 mm): 4.4 mm against 3.58 mm = 4√0.8: pass by 0.82 mm"], ["pass", "interface 1 (0.8 on 1.2 mm): button pulled: pass"], ["fail", "interface 2 (1.2 on 1 mm): no fusion, no diameter to measure: fail"]]',3,'','','Ann Sample','2025-03-04 08:10:00.000000','',8,'6218aa9701f4a94076fec9f7214c9869b1eaf529fadc45460e95a9a213dbc551');
INSERT INTO "coupon_revision" VALUES(10,1,8,1,'2025-04-01 08:00:00.000000',2,2,1,0,'','cone',5.0,'CuCrZr',NULL,7.0,200.0,2.2,0.0,0.0,0.0,0.0,0.0,1,'peel',0,0,0,'','fail','[["fail", "3.25 mm against 3.58 mm = 4√0.8: fail by 0.33 mm"], ["pass", "button pulled: pass"]]',3,'','','Ann Sample','2025-04-02 08:10:00.000000','imported',9,'4d720eac437057c47fd33e6199848322d93556412438d5b344ff5cd6f84141e4');
INSERT INTO "coupon_revision" VALUES(11,1,5,2,'2024-12-19 09:12:00.000000',1,2,1,0,'','cone',5.0,'CuCrZr',NULL,7.5,200.0,2.2,0.0,0.0,0.0,3.0,60.0,1,'peel',0,0,0,'','fail','[["fail", "3.25 mm against 3.58 mm = 4√0.8: fail by 0.33 mm"], ["pass", "button pulled: pass"]]',3,'','measured now','Bo Exämple','2025-04-02 09:10:00.000000','',10,'c1449cf1708da8546dffc2c1f096a6faefe6ce03fa61c2992b56fa8695d4639b');
CREATE TABLE draft (
	shop_id INTEGER NOT NULL, 
	who VARCHAR(200) NOT NULL, 
	form VARCHAR(200) NOT NULL, 
	body TEXT NOT NULL, 
	saved_at DATETIME NOT NULL, 
	CONSTRAINT pk_draft PRIMARY KEY (shop_id, who, form), 
	CONSTRAINT fk_draft_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "draft" VALUES(1,'kim','machine·gun 1','{"name": "gun 1"}','2026-03-01 08:00:00.000000');
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
INSERT INTO "interface_result" VALUES(9,0,1,4.4,4.4,'button');
INSERT INTO "interface_result" VALUES(9,1,1,NULL,NULL,'no_fusion');
INSERT INTO "interface_result" VALUES(10,0,1,3.1,3.4,'button');
INSERT INTO "interface_result" VALUES(11,0,1,3.1,3.4,'button');
CREATE TABLE job (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	number VARCHAR(200) NOT NULL, 
	opened_at DATETIME NOT NULL, 
	closed_at DATETIME, number_key VARCHAR(200) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT fk_job_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT uq_job_shop_id UNIQUE (shop_id, number)
);
INSERT INTO "job" VALUES(1,1,'R-1001','2024-11-06 07:00:00.000000',NULL,'r-1001');
INSERT INTO "job" VALUES(2,1,'r-1000','2024-11-05 07:00:00.000000','2024-11-08 15:00:00.000000','r-1000');
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
CREATE TABLE joint_template (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	name_key VARCHAR(200) NOT NULL, 
	stack_id INTEGER NOT NULL, 
	turned_over BOOLEAN NOT NULL, 
	machine_id INTEGER NOT NULL, 
	welds INTEGER, 
	pitch_mm FLOAT, 
	CONSTRAINT pk_joint_template PRIMARY KEY (id), 
	CONSTRAINT fk_joint_template_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_joint_template_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id), 
	CONSTRAINT fk_joint_template_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT uq_joint_template_shop_id UNIQUE (shop_id, name_key)
);
INSERT INTO "joint_template" VALUES(1,1,'Usual sill','usual sill',1,1,1,20,30.0);
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
	recorded_at DATETIME NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_machine_event PRIMARY KEY (id), 
	CONSTRAINT fk_machine_event_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_machine_event_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "machine_event" VALUES(1,1,1,'fitted','2024-11-04 07:20:00.000000','dome',6.0,'CuCrZr','','Ann Sample','2024-11-04 07:21:00.000000',1,'7bf65f521a06a87904acd18999f465bcba90632fdd1cfdcf3ca9008b0bba3542');
INSERT INTO "machine_event" VALUES(2,1,1,'dressed','2024-11-11 07:20:00.000000',NULL,NULL,NULL,'','Bo Exämple','2024-11-11 07:21:00.000000',2,'74e3986b819d7cb906404bece94f3e886801793f575d22ae2d443745e060e44d');
INSERT INTO "machine_event" VALUES(3,2,3,'repaired','2024-11-12 07:20:00.000000',NULL,NULL,NULL,'cable replaced','Ann Sample','2024-11-12 07:21:00.000000',1,'01def869e59284358dfae08eb0a2116da74eb4208cc0982515b3c79018324c4e');
CREATE TABLE maker_recommendation (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	machine_id INTEGER NOT NULL, 
	stack_id INTEGER NOT NULL, 
	document VARCHAR(200) NOT NULL, 
	page VARCHAR(200) NOT NULL, 
	settings TEXT NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_maker_recommendation PRIMARY KEY (id), 
	CONSTRAINT fk_maker_recommendation_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_maker_recommendation_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_maker_recommendation_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id)
);
INSERT INTO "maker_recommendation" VALUES(1,1,1,2,'Invented handbook','12','9 kA, 3 pulses','Ann Sample','2025-05-06 08:00:00.000000',1,'fd87c6c697f379a5b82c22b7ed33a4d4d6c378deade6e8ad126524a8e67ac200');
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
CREATE TABLE preparation_check (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	joint_id INTEGER NOT NULL, 
	name VARCHAR(40) NOT NULL, 
	answer VARCHAR(20) NOT NULL, 
	measured FLOAT, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_preparation_check PRIMARY KEY (id), 
	CONSTRAINT fk_preparation_check_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_preparation_check_joint_id FOREIGN KEY(joint_id) REFERENCES joint (id)
);
INSERT INTO "preparation_check" VALUES(1,1,1,'faces_bare','open',NULL,'Bo Exämple','2025-05-05 08:00:00.000000',1,'cbe6184757632c4c88ac7af8c576d20094e7c9a19e7eb24b51efddf1ab99b4e8');
INSERT INTO "preparation_check" VALUES(2,1,1,'faces_bare','done',NULL,'Ann Sample','2025-05-05 08:30:00.000000',2,'6e3cf9b984983940d08773cd9b853976c4f8cb15870122abc7b3957bf7dbc989');
INSERT INTO "preparation_check" VALUES(3,1,1,'edge_bevel','done',8.5,'Ann Sample','2025-05-05 08:31:00.000000',3,'47c420b5e7e8afb8e4ceb616cccdb86c6d9c3f407567ab8dc2b5cfa99beed961');
CREATE TABLE release (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	joint_id INTEGER NOT NULL, 
	setting TEXT NOT NULL, 
	evidence TEXT NOT NULL, 
	note TEXT NOT NULL, 
	released_by VARCHAR(200) NOT NULL, 
	released_at DATETIME NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_release PRIMARY KEY (id), 
	CONSTRAINT fk_release_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_release_joint_id FOREIGN KEY(joint_id) REFERENCES joint (id)
);
INSERT INTO "release" VALUES(1,1,1,'{"current_kA": 9.7, "weld_ms": 180.0, "force_kN": 3.1, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}','[[2, 1]]','','Bo Exämple','2025-03-03 08:00:00.000000',1,'697afa5af3df434cdf8698ec8096a9e0c72fa97c34912cac92c763c6ba7b6f3a');
INSERT INTO "release" VALUES(2,1,1,'{"current_kA": 9.7, "weld_ms": 180.0, "force_kN": 3.1, "squeeze_ms": 0.0, "hold_ms": 0.0, "pulses": 1, "pause_ms": 0.0, "pre_current_kA": 0.0, "pre_ms": 0.0}','[[2, 2]]','after the second reading','Ann Sample','2025-03-03 09:00:00.000000',2,'7976cd5b4a223f62e43dcd2c50384c3b90f82b3effe281c8b01020b669a29796');
CREATE TABLE rules (
	id INTEGER NOT NULL, 
	shop_id INTEGER NOT NULL, 
	body TEXT NOT NULL, 
	recorded_by VARCHAR(200) NOT NULL, 
	recorded_at DATETIME NOT NULL, place INTEGER DEFAULT '0' NOT NULL, seal VARCHAR(64) DEFAULT '' NOT NULL, 
	CONSTRAINT pk_rules PRIMARY KEY (id), 
	CONSTRAINT fk_rules_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id)
);
INSERT INTO "rules" VALUES(1,1,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-11-04 07:10:00.000000',1,'e43e274ad44d55b5ec99d26df49a68e63954482a5d0a371bee227caa6c4eae92');
INSERT INTO "rules" VALUES(2,2,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 30, "passes_in_a_row": 2, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "fails", "interface_failure": "fails", "largest_aspect": 2.0, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-11-05 07:10:00.000000',1,'2e5a2e10a0720fb7165bbea24cc48805aa904bbd964b87ab53e97a296d53a93a');
INSERT INTO "rules" VALUES(3,1,'{"bare_schedule": "high_force", "coverage": {"bonded_days": 14, "passes_in_a_row": 3, "thickness_tolerance_mm": 0.05, "unbonded_days": 30}, "judging": {"expulsion": "noted", "interface_failure": "fails", "largest_aspect": 1.5, "size": {"governing": "each_interface", "k": 4.0}}}','Ann Sample','2024-12-20 07:10:00.000000',2,'552c6a0157129cf553c13ff86fbd2b39a26ac62303d1ab3af588acbd98b97131');
CREATE TABLE shop (
	id INTEGER NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	is_demo BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, is_copy BOOLEAN DEFAULT 0 NOT NULL, 
	CONSTRAINT pk_shop PRIMARY KEY (id)
);
INSERT INTO "shop" VALUES(1,'Shop',0,'2024-11-04 07:00:00.000000',0);
INSERT INTO "shop" VALUES(2,'Second shop',0,'2024-11-05 07:00:00.000000',0);
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
INSERT INTO "stack" VALUES(4,1,'e2314ad5d88566198fb8608de20eaeb5dd332d185c77267859fae08b86d5c0a3','{"bonds": [{"adhesive": "", "state": "none"}, {"adhesive": "", "state": "none"}], "sheets": [{"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 0.8, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.2, "upper": "bare"}, {"family": "low_carbon", "grade": "", "lower": "bare", "thickness_mm": 1.0, "upper": "bare"}]}','0.8 + 1.2 + 1 mm · low-carbon · bare · no adhesive',3,'none');
CREATE TABLE tally (
	shop_id INTEGER NOT NULL, 
	span VARCHAR(5) NOT NULL, 
	starts DATE NOT NULL, 
	welder_id INTEGER NOT NULL, 
	machine_id INTEGER NOT NULL, 
	stack_id INTEGER NOT NULL, 
	passed INTEGER NOT NULL, 
	failed INTEGER NOT NULL, 
	open INTEGER NOT NULL, 
	expelled INTEGER NOT NULL, 
	CONSTRAINT pk_tally PRIMARY KEY (shop_id, span, starts, welder_id, machine_id, stack_id), 
	CONSTRAINT fk_tally_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_tally_welder_id FOREIGN KEY(welder_id) REFERENCES welder (id), 
	CONSTRAINT fk_tally_machine_id FOREIGN KEY(machine_id) REFERENCES machine (id), 
	CONSTRAINT fk_tally_stack_id FOREIGN KEY(stack_id) REFERENCES stack (id)
)
 WITHOUT ROWID

;
INSERT INTO "tally" VALUES(1,'day','2024-11-06',1,1,1,1,0,0,0);
INSERT INTO "tally" VALUES(1,'day','2024-11-06',2,1,2,1,0,0,0);
INSERT INTO "tally" VALUES(1,'day','2024-12-19',1,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(1,'day','2024-12-31',2,1,1,1,0,0,1);
INSERT INTO "tally" VALUES(1,'day','2025-03-04',1,1,4,0,1,0,0);
INSERT INTO "tally" VALUES(1,'day','2025-04-01',2,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(1,'month','2024-11-01',1,1,1,1,0,0,0);
INSERT INTO "tally" VALUES(1,'month','2024-11-01',2,1,2,1,0,0,0);
INSERT INTO "tally" VALUES(1,'month','2024-12-01',1,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(1,'month','2024-12-01',2,1,1,1,0,0,1);
INSERT INTO "tally" VALUES(1,'month','2025-03-01',1,1,4,0,1,0,0);
INSERT INTO "tally" VALUES(1,'month','2025-04-01',2,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(1,'year','2024-01-01',1,1,1,1,0,0,0);
INSERT INTO "tally" VALUES(1,'year','2024-01-01',1,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(1,'year','2024-01-01',2,1,1,1,0,0,1);
INSERT INTO "tally" VALUES(1,'year','2024-01-01',2,1,2,1,0,0,0);
INSERT INTO "tally" VALUES(1,'year','2025-01-01',1,1,4,0,1,0,0);
INSERT INTO "tally" VALUES(1,'year','2025-01-01',2,2,1,0,1,0,0);
INSERT INTO "tally" VALUES(2,'day','2024-11-12',3,3,3,1,0,0,0);
INSERT INTO "tally" VALUES(2,'month','2024-11-01',3,3,3,1,0,0,0);
INSERT INTO "tally" VALUES(2,'year','2024-01-01',3,3,3,1,0,0,0);
CREATE TABLE visit (
	token_hash VARCHAR(64) NOT NULL, 
	shop_id INTEGER NOT NULL, 
	welder_id INTEGER NOT NULL, 
	began_at DATETIME NOT NULL, 
	until DATETIME NOT NULL, 
	ended_at DATETIME, 
	CONSTRAINT pk_visit PRIMARY KEY (token_hash), 
	CONSTRAINT fk_visit_shop_id FOREIGN KEY(shop_id) REFERENCES shop (id), 
	CONSTRAINT fk_visit_welder_id FOREIGN KEY(welder_id) REFERENCES welder (id)
);
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
CREATE INDEX ix_revision_machine ON coupon_revision (shop_id, machine_id, made_at);
CREATE INDEX ix_joint_job ON joint (job_id);
CREATE INDEX ix_machine_event_machine ON machine_event (machine_id, at);
CREATE INDEX ix_adhesive_clock_running ON adhesive_clock (shop_id, stopped_at);
CREATE INDEX ix_clock_reading_clock ON clock_reading (adhesive_clock_id, at);
CREATE INDEX ix_release_joint ON release (joint_id, released_at);
CREATE INDEX ix_preparation_check_joint ON preparation_check (joint_id);
CREATE INDEX ix_maker_recommendation_stack ON maker_recommendation (machine_id, stack_id);
CREATE INDEX ix_access_shop ON access (shop_id);
CREATE UNIQUE INDEX ix_rules_place ON rules (shop_id, place);
CREATE UNIQUE INDEX ix_machine_event_place ON machine_event (shop_id, place);
CREATE UNIQUE INDEX ix_preparation_check_place ON preparation_check (shop_id, place);
CREATE UNIQUE INDEX ix_maker_recommendation_place ON maker_recommendation (shop_id, place);
CREATE UNIQUE INDEX ix_change_log_place ON change_log (shop_id, place);
CREATE UNIQUE INDEX ix_coupon_revision_place ON coupon_revision (shop_id, place);
CREATE UNIQUE INDEX ix_release_place ON release (shop_id, place);
CREATE UNIQUE INDEX ix_coupon_photo_place ON coupon_photo (shop_id, place);
CREATE INDEX ix_job_number_key ON job (shop_id, number_key);
CREATE INDEX ix_revision_made ON coupon_revision (shop_id, made_at);
CREATE INDEX ix_revision_stack ON coupon_revision (shop_id, stack_id, made_at);
CREATE INDEX ix_revision_job ON coupon_revision (shop_id, job, made_at);
CREATE TRIGGER rules_no_update BEFORE UPDATE ON rules BEGIN SELECT RAISE(ABORT, 'rules is never changed or deleted'); END;
CREATE TRIGGER rules_no_delete BEFORE DELETE ON rules BEGIN SELECT RAISE(ABORT, 'rules is never changed or deleted'); END;
CREATE TRIGGER rules_no_replacing BEFORE INSERT ON rules WHEN EXISTS (SELECT 1 FROM rules WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'rules is never changed or deleted'); END;
CREATE TRIGGER machine_event_no_update BEFORE UPDATE ON machine_event BEGIN SELECT RAISE(ABORT, 'machine_event is never changed or deleted'); END;
CREATE TRIGGER machine_event_no_delete BEFORE DELETE ON machine_event BEGIN SELECT RAISE(ABORT, 'machine_event is never changed or deleted'); END;
CREATE TRIGGER machine_event_no_replacing BEFORE INSERT ON machine_event WHEN EXISTS (SELECT 1 FROM machine_event WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'machine_event is never changed or deleted'); END;
CREATE TRIGGER preparation_check_no_update BEFORE UPDATE ON preparation_check BEGIN SELECT RAISE(ABORT, 'preparation_check is never changed or deleted'); END;
CREATE TRIGGER preparation_check_no_delete BEFORE DELETE ON preparation_check BEGIN SELECT RAISE(ABORT, 'preparation_check is never changed or deleted'); END;
CREATE TRIGGER preparation_check_no_replacing BEFORE INSERT ON preparation_check WHEN EXISTS (SELECT 1 FROM preparation_check WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'preparation_check is never changed or deleted'); END;
CREATE TRIGGER maker_recommendation_no_update BEFORE UPDATE ON maker_recommendation BEGIN SELECT RAISE(ABORT, 'maker_recommendation is never changed or deleted'); END;
CREATE TRIGGER maker_recommendation_no_delete BEFORE DELETE ON maker_recommendation BEGIN SELECT RAISE(ABORT, 'maker_recommendation is never changed or deleted'); END;
CREATE TRIGGER maker_recommendation_no_replacing BEFORE INSERT ON maker_recommendation WHEN EXISTS (SELECT 1 FROM maker_recommendation WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'maker_recommendation is never changed or deleted'); END;
CREATE TRIGGER change_log_no_update BEFORE UPDATE ON change_log BEGIN SELECT RAISE(ABORT, 'change_log is never changed or deleted'); END;
CREATE TRIGGER change_log_no_delete BEFORE DELETE ON change_log BEGIN SELECT RAISE(ABORT, 'change_log is never changed or deleted'); END;
CREATE TRIGGER change_log_no_replacing BEFORE INSERT ON change_log WHEN EXISTS (SELECT 1 FROM change_log WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'change_log is never changed or deleted'); END;
CREATE TRIGGER coupon_revision_no_update BEFORE UPDATE ON coupon_revision BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END;
CREATE TRIGGER coupon_revision_no_delete BEFORE DELETE ON coupon_revision BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END;
CREATE TRIGGER coupon_revision_no_replacing BEFORE INSERT ON coupon_revision WHEN EXISTS (SELECT 1 FROM coupon_revision WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'coupon_revision is never changed or deleted'); END;
CREATE TRIGGER release_no_update BEFORE UPDATE ON release BEGIN SELECT RAISE(ABORT, 'release is never changed or deleted'); END;
CREATE TRIGGER release_no_delete BEFORE DELETE ON release BEGIN SELECT RAISE(ABORT, 'release is never changed or deleted'); END;
CREATE TRIGGER release_no_replacing BEFORE INSERT ON release WHEN EXISTS (SELECT 1 FROM release WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'release is never changed or deleted'); END;
CREATE TRIGGER coupon_no_update BEFORE UPDATE ON coupon BEGIN SELECT RAISE(ABORT, 'coupon is never changed or deleted'); END;
CREATE TRIGGER coupon_no_delete BEFORE DELETE ON coupon BEGIN SELECT RAISE(ABORT, 'coupon is never changed or deleted'); END;
CREATE TRIGGER coupon_no_replacing BEFORE INSERT ON coupon WHEN EXISTS (SELECT 1 FROM coupon WHERE (shop_id = NEW.shop_id AND number = NEW.number) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'coupon is never changed or deleted'); END;
CREATE TRIGGER interface_result_no_update BEFORE UPDATE ON interface_result BEGIN SELECT RAISE(ABORT, 'interface_result is never changed or deleted'); END;
CREATE TRIGGER interface_result_no_delete BEFORE DELETE ON interface_result BEGIN SELECT RAISE(ABORT, 'interface_result is never changed or deleted'); END;
CREATE TRIGGER interface_result_no_replacing BEFORE INSERT ON interface_result WHEN EXISTS (SELECT 1 FROM interface_result WHERE (coupon_revision_id = NEW.coupon_revision_id AND position = NEW.position) ) BEGIN SELECT RAISE(ABORT, 'interface_result is never changed or deleted'); END;
CREATE TRIGGER stack_no_update BEFORE UPDATE ON stack BEGIN SELECT RAISE(ABORT, 'stack is never changed or deleted'); END;
CREATE TRIGGER stack_no_delete BEFORE DELETE ON stack BEGIN SELECT RAISE(ABORT, 'stack is never changed or deleted'); END;
CREATE TRIGGER stack_no_replacing BEFORE INSERT ON stack WHEN EXISTS (SELECT 1 FROM stack WHERE (shop_id = NEW.shop_id AND fingerprint = NEW.fingerprint) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'stack is never changed or deleted'); END;
CREATE TRIGGER coupon_photo_no_update BEFORE UPDATE ON coupon_photo BEGIN SELECT RAISE(ABORT, 'coupon_photo is never changed or deleted'); END;
CREATE TRIGGER coupon_photo_no_delete BEFORE DELETE ON coupon_photo BEGIN SELECT RAISE(ABORT, 'coupon_photo is never changed or deleted'); END;
CREATE TRIGGER coupon_photo_no_replacing BEFORE INSERT ON coupon_photo WHEN EXISTS (SELECT 1 FROM coupon_photo WHERE (shop_id = NEW.shop_id AND place = NEW.place) OR id = NEW.id) BEGIN SELECT RAISE(ABORT, 'coupon_photo is never changed or deleted'); END;
COMMIT;
