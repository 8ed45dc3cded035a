-- A database file as the program wrote it under schema 1, dumped as text. Two rows are left in each table of the
-- shipped catalogue; the builder's own things are complete: a build with two revisions and a share link, four values
-- set in the catalogue, a pack, and a layout with one reading.
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE build (
	id VARCHAR NOT NULL,
	name VARCHAR NOT NULL,
	latest INTEGER NOT NULL,
	saved_at VARCHAR NOT NULL,
	deleted BOOLEAN NOT NULL,
	PRIMARY KEY (id)
);
INSERT INTO "build" VALUES('b1','tower',2,'2025-01-01T00:00:00Z',0);
CREATE TABLE build_revision (
	build_id VARCHAR NOT NULL,
	number INTEGER NOT NULL,
	name VARCHAR NOT NULL,
	saved_at VARCHAR NOT NULL,
	words VARCHAR NOT NULL,
	document BLOB NOT NULL,
	PRIMARY KEY (build_id, number),
	FOREIGN KEY(build_id) REFERENCES build (id)
);
INSERT INTO "build_revision" VALUES('b1',1,'tower','2025-01-01T00:00:00Z','["new build"]',X'789CAB564ACB2C2A2E51B25230AC05001B3103F0');
INSERT INTO "build_revision" VALUES('b1',2,'tower','2025-01-01T00:00:00Z','["longer"]',X'789CAB562A4E4DCECF4B51B25230AA05001FE70445');
CREATE TABLE build_share (
	token_hash VARCHAR NOT NULL,
	build_id VARCHAR NOT NULL,
	created_at VARCHAR NOT NULL,
	revoked BOOLEAN NOT NULL,
	PRIMARY KEY (token_hash),
	FOREIGN KEY(build_id) REFERENCES build (id)
);
INSERT INTO "build_share" VALUES('0000000000000000000000000000000000000000000000000000000000000000','b1','2025-01-01T00:00:00Z',0);
CREATE TABLE catalogue_cap (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	family VARCHAR(60) NOT NULL,
	position VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_cap" VALUES('common practice','satad-through','SATA power cap, wires pass through','satad','through',0);
INSERT INTO "catalogue_cap" VALUES('common practice','satad-end','SATA power cap, wires end','satad','end',1);
CREATE TABLE catalogue_colour (
	source VARCHAR(300) NOT NULL,
	code VARCHAR NOT NULL,
	name VARCHAR(300) NOT NULL,
	hex VARCHAR NOT NULL,
	insulations VARCHAR NOT NULL,
	sleeve BOOLEAN NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_colour" VALUES('IEC 60757:2021 for the code; the screen colour is our own','BK','black','#1b1b1d','plain high_temperature',1,0);
INSERT INTO "catalogue_colour" VALUES('IEC 60757:2021 for the code; the screen colour is our own','BN','brown','#6f4426','plain high_temperature',1,1);
CREATE TABLE catalogue_comb (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	ways INTEGER NOT NULL,
	rows INTEGER NOT NULL,
	columns INTEGER NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_comb" VALUES('common practice','comb-2','comb, 2 ways',2,1,2,0);
INSERT INTO "catalogue_comb" VALUES('common practice','comb-3','comb, 3 ways',3,1,3,1);
CREATE TABLE catalogue_contact (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	family VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	gender VARCHAR NOT NULL,
	signal BOOLEAN NOT NULL,
	awg_thickest INTEGER NOT NULL,
	awg_thinnest INTEGER NOT NULL,
	insulation_min_mm FLOAT NOT NULL,
	insulation_max_mm FLOAT NOT NULL,
	strip_mm FLOAT NOT NULL,
	wires_max INTEGER NOT NULL,
	crimp_die VARCHAR(300) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_contact" VALUES('from memory','p42-socket-18','p42','4.2 mm socket, 18 to 24 AWG','socket',0,18,24,1.3,3.1,3.3,2,'open barrel, B form, 18 to 24 AWG',0);
INSERT INTO "catalogue_contact" VALUES('from memory','p42-socket-16','p42','4.2 mm socket, 16 AWG','socket',0,16,16,1.5,3.1,3.5,2,'open barrel, B form, 16 AWG',1);
CREATE TABLE catalogue_edit (
	table_name VARCHAR NOT NULL,
	row_id VARCHAR NOT NULL,
	column_name VARCHAR NOT NULL,
	text VARCHAR NOT NULL,
	PRIMARY KEY (table_name, row_id, column_name)
);
INSERT INTO "catalogue_edit" VALUES('wires','awg18-plain','outside_mm','2.25');
INSERT INTO "catalogue_edit" VALUES('contacts','p42-socket-18','strip_mm','3.1');
INSERT INTO "catalogue_edit" VALUES('contacts','p42-socket-18','crimp_die','the red tool, second nest');
INSERT INTO "catalogue_edit" VALUES('contacts','p42-socket-18','insulation_max_mm','3.0');
CREATE TABLE catalogue_family (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	pitch_mm FLOAT NOT NULL,
	row_pitch_mm FLOAT NOT NULL,
	termination VARCHAR NOT NULL,
	insertion_depth_mm FLOAT NOT NULL,
	extraction_tool VARCHAR(300) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_family" VALUES('from memory','p42','4.2 mm two-row power',4.2,4.2,'crimp',8.0,'two-prong extractor for 4.2 mm contacts',0);
INSERT INTO "catalogue_family" VALUES('from memory','p30','3.0 mm 12+4 graphics power',3.0,3.0,'crimp',6.0,'two-prong extractor for 3.0 mm contacts',1);
CREATE TABLE catalogue_housing (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	family VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	half VARCHAR NOT NULL,
	gender VARCHAR NOT NULL,
	rows INTEGER NOT NULL,
	columns INTEGER NOT NULL,
	numbering VARCHAR NOT NULL,
	positions INTEGER NOT NULL,
	latch VARCHAR NOT NULL,
	"key" VARCHAR(300) NOT NULL,
	mates_with VARCHAR(300) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_housing" VALUES('cavity numbering as in the power supply design guides'' connector tables; latch side from memory','p42-4-plug','p42','4.2 mm 4-position plug','plug','socket',2,2,'two_row',4,'top','square and chamfered cavities','p42-4-mate',0);
INSERT INTO "catalogue_housing" VALUES('cavity numbering as in the power supply design guides'' connector tables; latch side from memory','p42-4-mate','p42','4.2 mm 4-position mating half','mate','pin',2,2,'two_row',4,'top','square and chamfered cavities','p42-4-plug',1);
CREATE TABLE catalogue_labour (
	source VARCHAR(300) NOT NULL,
	operation VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	minutes VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_labour" VALUES('common practice; time your own bench','cut','cut one wire to length','0.3',0);
INSERT INTO "catalogue_labour" VALUES('common practice; time your own bench','strip','strip one wire end','0.3',1);
CREATE TABLE catalogue_own_pack (
	source VARCHAR(300) NOT NULL,
	id VARCHAR NOT NULL,
	kind VARCHAR NOT NULL,
	item VARCHAR(60) NOT NULL,
	quantity INTEGER NOT NULL,
	unit VARCHAR NOT NULL,
	price VARCHAR NOT NULL,
	PRIMARY KEY (id)
);
INSERT INTO "catalogue_own_pack" VALUES('set by the builder','own-wire-awg18-plain-50000','wire','awg18-plain',50000,'mm','29.90');
CREATE TABLE catalogue_pack (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(120) NOT NULL,
	kind VARCHAR NOT NULL,
	item VARCHAR(60) NOT NULL,
	quantity INTEGER NOT NULL,
	unit VARCHAR NOT NULL,
	price VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_pack" VALUES('invented sample price: replace it with your own','wire-awg16-plain-5000','wire','awg16-plain',5000,'mm','5.50',0);
INSERT INTO "catalogue_pack" VALUES('invented sample price: replace it with your own','wire-awg16-plain-10000','wire','awg16-plain',10000,'mm','10.10',1);
CREATE TABLE catalogue_pinout (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	role VARCHAR NOT NULL,
	use VARCHAR NOT NULL,
	housing VARCHAR(60) NOT NULL,
	rewired BOOLEAN NOT NULL,
	load_a VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_pinout" VALUES('pinout: ATX12V power supply design guide 2.0, main power connector; +5VSB 2 A is its typical value; other loads: common practice, read the board''s manual','main-24','main power, 24 positions','inlet','main','p42-24-plug',1,'+12V=8 +5V=6 +3.3V=4 -12V=0.1 +5VSB=2',0);
INSERT INTO "catalogue_pinout" VALUES('pinout: Desktop platform power supply design guide 336521 rev 2.01, table 5-8; load: table 2-1, 35 W processor, 11 A continuous','cpu-4','CPU power, 4 positions','inlet','cpu','p42-4-plug',1,'+12V=11',1);
CREATE TABLE catalogue_pinout_pin (
	source VARCHAR(300) NOT NULL,
	pinout VARCHAR(60) NOT NULL,
	cavity VARCHAR NOT NULL,
	function VARCHAR(300) NOT NULL,
	need VARCHAR NOT NULL,
	net VARCHAR(40) NOT NULL,
	accepts VARCHAR NOT NULL,
	carries_current BOOLEAN NOT NULL,
	sensed_by VARCHAR(40) NOT NULL,
	colour VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_pinout_pin" VALUES('ATX12V power supply design guide 2.0, main power connector','main-24','1','+3.3V','required','+3.3V','+3.3V',1,'','OG',0);
INSERT INTO "catalogue_pinout_pin" VALUES('ATX12V power supply design guide 2.0, main power connector','main-24','2','+3.3V','required','+3.3V','+3.3V',1,'','OG',1);
CREATE TABLE catalogue_rating (
	source VARCHAR(300) NOT NULL,
	family VARCHAR(60) NOT NULL,
	awg INTEGER NOT NULL,
	loaded_from INTEGER NOT NULL,
	loaded_to INTEGER NOT NULL,
	current_a FLOAT NOT NULL,
	signal BOOLEAN NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_rating" VALUES('from memory: standard contact, all circuits loaded, 30 K rise','p42',16,1,3,9.0,0,0);
INSERT INTO "catalogue_rating" VALUES('from memory: standard contact, all circuits loaded, 30 K rise','p42',16,4,6,8.0,0,1);
CREATE TABLE catalogue_shrink (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	supplied_mm FLOAT NOT NULL,
	recovered_mm FLOAT NOT NULL,
	piece_mm FLOAT NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_shrink" VALUES('AS23053/5 size series, 2:1: least supplied and greatest recovered bore, size 1/8; piece length common practice','small','small heat-shrink, 1/8 in',3.18,1.58,12.0,0);
INSERT INTO "catalogue_shrink" VALUES('AS23053/5 size series, 2:1: least supplied and greatest recovered bore, size 1/4; piece length common practice','middle','middle heat-shrink, 1/4 in',6.35,3.18,15.0,1);
CREATE TABLE catalogue_sleeve (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	relaxed_mm FLOAT NOT NULL,
	braid_angle_deg FLOAT NOT NULL,
	least_mm FLOAT NOT NULL,
	greatest_mm FLOAT NOT NULL,
	shrink VARCHAR(60) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_sleeve" VALUES('common practice: a braid opens to about four times its relaxed diameter; measure yours','small','small sleeve, single wires',0.8,13.0,1.2,3.1,'small',0);
INSERT INTO "catalogue_sleeve" VALUES('common practice: a braid opens to about four times its relaxed diameter; measure yours','middle','middle sleeve, front-panel leads',1.6,13.0,2.4,6.3,'middle',1);
CREATE TABLE catalogue_supply (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	note VARCHAR(300) NOT NULL,
	metered BOOLEAN NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_supply" VALUES('invented sample, not metered','one-24','One 24-position main','One main socket with its own order; four +12V and four COM for the processor.',0,0);
INSERT INTO "catalogue_supply" VALUES('invented sample, not metered','split-18-10','Main split 18 + 10, large','Main over an 18 and a 10; six graphics sockets and one native 12+4.',0,1);
CREATE TABLE catalogue_supply_pin (
	source VARCHAR(300) NOT NULL,
	supply VARCHAR(60) NOT NULL,
	port VARCHAR NOT NULL,
	cavity VARCHAR NOT NULL,
	net VARCHAR(40) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_supply_pin" VALUES('invented sample, not metered','one-24','M1','1','+12V',0);
INSERT INTO "catalogue_supply_pin" VALUES('invented sample, not metered','one-24','M1','2','+12V',1);
CREATE TABLE catalogue_supply_port (
	source VARCHAR(300) NOT NULL,
	supply VARCHAR(60) NOT NULL,
	port VARCHAR NOT NULL,
	label VARCHAR(300) NOT NULL,
	housing VARCHAR(60) NOT NULL,
	feeds VARCHAR NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_supply_port" VALUES('invented sample, not metered','one-24','M1','Main','p42-24-plug','main',0);
INSERT INTO "catalogue_supply_port" VALUES('invented sample, not metered','one-24','C1','CPU 1','p42-8c-plug','cpu',1);
CREATE TABLE catalogue_version (
	source VARCHAR(300) NOT NULL,
	version VARCHAR(300) NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_version" VALUES('the catalogue''s own numbering','2025-2',0);
CREATE TABLE catalogue_wire (
	source VARCHAR(300) NOT NULL,
	id VARCHAR(60) NOT NULL,
	name VARCHAR(300) NOT NULL,
	awg INTEGER NOT NULL,
	insulation VARCHAR NOT NULL,
	conductor_mm2 FLOAT NOT NULL,
	outside_mm FLOAT NOT NULL,
	ohm_per_km FLOAT NOT NULL,
	file_order INTEGER NOT NULL,
	PRIMARY KEY (file_order)
);
INSERT INTO "catalogue_wire" VALUES('copper area and greatest resistance: stranded hook-up wire table, 105 C, 600 V style; outside diameter: common practice','awg16-plain','16 AWG, plain',16,'plain',1.32,2.4,15.6,0);
INSERT INTO "catalogue_wire" VALUES('copper area and greatest resistance: stranded hook-up wire table, 105 C, 600 V style; outside diameter: common practice','awg18-plain','18 AWG, plain',18,'plain',0.87,2.1,24.4,1);
CREATE TABLE own_layout (
	id VARCHAR NOT NULL,
	name VARCHAR NOT NULL,
	latest INTEGER NOT NULL,
	saved_at VARCHAR NOT NULL,
	deleted BOOLEAN NOT NULL,
	PRIMARY KEY (id)
);
INSERT INTO "own_layout" VALUES('own-1','Bench supply',1,'2025-01-01T00:00:00Z',0);
CREATE TABLE own_layout_reading (
	entry INTEGER NOT NULL,
	layout_id VARCHAR NOT NULL,
	taken_at VARCHAR NOT NULL,
	port VARCHAR NOT NULL,
	cavity VARCHAR NOT NULL,
	on_v FLOAT,
	standby_v FLOAT,
	to_ground BOOLEAN,
	settled VARCHAR NOT NULL,
	PRIMARY KEY (entry),
	FOREIGN KEY(layout_id) REFERENCES own_layout (id)
);
INSERT INTO "own_layout_reading" VALUES(1,'own-1','2025-01-01T00:00:00Z','M1','1',NULL,NULL,1,'');
CREATE TABLE own_layout_version (
	layout_id VARCHAR NOT NULL,
	number INTEGER NOT NULL,
	saved_at VARCHAR NOT NULL,
	words VARCHAR NOT NULL,
	name VARCHAR NOT NULL,
	note VARCHAR NOT NULL,
	source VARCHAR NOT NULL,
	edition VARCHAR NOT NULL,
	limits_a VARCHAR NOT NULL,
	ports VARCHAR NOT NULL,
	PRIMARY KEY (layout_id, number),
	FOREIGN KEY(layout_id) REFERENCES own_layout (id)
);
INSERT INTO "own_layout_version" VALUES('own-1',1,'2025-01-01T00:00:00Z','["new layout"]','Bench supply','','','strict','{}','[["M1", "Main", "p42-4-plug", ["main"], [["1", "COM"], ["2", "COM"], ["3", "+12V"], ["4", "+12V"]]]]');
CREATE INDEX ix_build_share_build_id ON build_share (build_id);
CREATE INDEX ix_own_layout_reading_layout_id ON own_layout_reading (layout_id);
CREATE TRIGGER revision_never_changes BEFORE UPDATE ON build_revision BEGIN SELECT RAISE(ABORT, 'a saved revision never changes'); END;
CREATE TRIGGER revision_never_goes BEFORE DELETE ON build_revision BEGIN SELECT RAISE(ABORT, 'a saved revision is never removed'); END;
CREATE TRIGGER layout_version_never_changes BEFORE UPDATE ON own_layout_version BEGIN SELECT RAISE(ABORT, 'a saved version of a layout never changes'); END;
CREATE TRIGGER layout_version_never_goes BEFORE DELETE ON own_layout_version BEGIN SELECT RAISE(ABORT, 'a saved version of a layout is never removed'); END;
CREATE TRIGGER layout_reading_never_changes BEFORE UPDATE ON own_layout_reading BEGIN SELECT RAISE(ABORT, 'a reading once taken never changes'); END;
CREATE TRIGGER layout_reading_never_goes BEFORE DELETE ON own_layout_reading BEGIN SELECT RAISE(ABORT, 'a reading once taken is never removed'); END;
COMMIT;
