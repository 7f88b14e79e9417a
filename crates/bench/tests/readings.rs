//! Reading CSV files of bench readings: what is understood, and that nothing wrong passes in silence.
//! All data are invented.

use coilwright_bench::readings::{
    Axis, Expectation, FaultKind, Measurand, Options, ReadError, Readings, Remark, Statistic, read,
};
use proptest::prelude::*;

fn good(csv: &str) -> Readings {
    read(csv.as_bytes(), &Options::default()).unwrap_or_else(|error| panic!("{error}"))
}

fn lenient(csv: &str) -> Readings {
    read(csv.as_bytes(), &Options { lenient: true, ..Options::default() }).expect("good")
}

fn bad(csv: &str) -> ReadError {
    read(csv.as_bytes(), &Options::default()).expect_err("must be refused")
}

fn columns(readings: &Readings) -> Vec<Vec<Option<f64>>> {
    readings.columns.iter().map(|column| column.iter().collect()).collect()
}

const PLAIN: &str = "time s,voltage V,back °C\n0,24.02,21.5\n60,24.01,23.25\n120,,25.5\n";

#[test]
fn numbers_come_in_si() {
    let readings = good(PLAIN);
    assert_eq!(readings.rows(), 3);
    assert_eq!(readings.lines, [2, 3, 4]);
    assert_eq!(readings.columns[1].get(0), Some(24.02));
    assert_eq!(readings.columns[1].get(2), None);
    assert_eq!(readings.columns[1].present(), 2);
    assert_eq!(readings.columns[2].measurand, Measurand::Temperature("back".to_owned()));
    assert_eq!(readings.columns[2].get(0), Some(21.5 + 273.15));
    assert!(readings.remarks.is_empty() && readings.faults.is_empty());
}

/// The same readings however they are written.
#[test]
fn dialects_agree() {
    let plain = columns(&good(PLAIN));
    let dialects = [
        "time s;voltage V;back °C\n0;24,02;21,5\n60;24,01;23,25\n120;;25,5\n",
        "time s;voltage V;back °C\n0;24.02;21.5\n60;24.01;23.25\n120;-;25.5\n",
        "time s\tvoltage V\tback °C\r\n0\t24,02\t21,5\r\n60\t24,01\t23,25\r\n120\tn/a\t25,5\r\n",
        "\u{feff}# invented\n\ntime (s), voltage [V], back / °C\n0, 24.02, 21.5\n# pause\n60, 24.01, 23.25\n,,\n120, NaN, 25.5\n",
        "\"time s\",\"voltage V\",\"back degC\"\n\"0\",\"24,02\",\"21,5\"\n60,\"24,01\",\"23,25\"\n120,,\"25,5\"\n",
        "time s,voltage V,back °C,\n0,24.02,21.5,\n60,24.01,23.25,\n120,,25.5,\n",
        "TIME s,Voltage mV,Back °C\n0,24.02e3,21.5\n60,+24010,23.25\n120,--,25.5\n",
    ];
    for dialect in dialects {
        let found = columns(&good(dialect));
        for (found, expected) in found.iter().flatten().zip(plain.iter().flatten()) {
            match (found, expected) {
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-12, "{dialect}: {a} {b}"),
                (a, b) => assert_eq!(a, b, "{dialect}"),
            }
        }
    }
    let latin: Vec<u8> = PLAIN.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let readings = read(&latin[..], &Options::default()).unwrap();
    assert_eq!(columns(&readings), plain);
    assert_eq!(readings.remarks, [Remark::Latin1]);
}

#[test]
fn places_stand_in_the_header_or_in_columns() {
    let fixed = good("field mT @ r=10mm z=1mm by probe,field G @ r = 0 mm z = 1 mm\n81.3,700\n");
    let [a, b] = &fixed.columns[..] else { panic!() };
    assert_eq!((a.get(0), b.get(0)), (Some(0.0813), Some(0.07)));
    assert_eq!((fixed.place(a, Axis::R, 0), fixed.place(b, Axis::R, 0)), (Some(0.01), Some(0.0)));
    assert_eq!(a.instrument.as_deref(), Some("probe"));
    assert_eq!(fixed.place(a, Axis::Gap, 0), None);

    let rows = "r mm,z mm,field mT,gap mm,pull N\n0,1,81.3,,\n5,1,64.0,,\n,,,0.5,212\n";
    for header in ["field mT @ r mm z mm", "field mT @ r z"] {
        let rows = rows.replace("field mT", header);
        let scan = good(&rows);
        let field = scan.columns_of(&Measurand::Field).next().unwrap();
        assert_eq!(scan.place(field, Axis::R, 1), Some(0.005));
        let pull = scan.columns_of(&Measurand::Pull).next().unwrap();
        assert_eq!((scan.place(pull, Axis::Gap, 2), pull.get(2)), (Some(0.0005), Some(212.0)));
        assert_eq!(scan.place(field, Axis::R, 2), None);
    }
}

/// All faults of a header at once, each with what to write instead.
#[test]
fn a_bad_header_is_explained() {
    let ReadError::Header { line: 2, faults } = bad(
        "# mine\nvoltage,volts V,current V,field mT @ q=1mm,field mT @ r=1mm±0.2mm,pull N @ gap=1s,power W @ r,back °C,Back °C\n1\n",
    ) else {
        panic!("not a header error")
    };
    let said: Vec<(usize, &str)> = faults.iter().map(|fault| (fault.cell, fault.message.as_str())).collect();
    assert_eq!(said[0], (1, "quantity or unit is missing"));
    assert_eq!(said[1], (2, "`volts` is not a quantity that is measured here"));
    assert_eq!(said[2], (3, "`V` is not a unit of current"));
    assert_eq!(said[3], (4, "`q` is not a direction"));
    assert_eq!(said[4], (5, "`1mm±0.2mm`: a place has no tolerance"));
    assert_eq!((said[5].0, said[6].0, said[7].0), (6, 7, 9));
    assert!(faults[0].hint.contains("voltage V"), "{}", faults[0].hint);
    for (header, such_as) in [
        ("volts,1", "`voltage V`"),
        ("amps", "`current A`"),
        ("mT", "`field mT`"),
        ("gauss", "`field mT`"),
        ("force N", "`pull N`"),
        ("Bz mT", "`field mT`"),
        ("pull", "`pull N`"),
    ] {
        let ReadError::Header { faults, .. } = bad(&format!("{header}\n1\n")) else { panic!("{header}") };
        assert!(faults[0].hint.contains(such_as), "{header}: {}", faults[0].hint);
    }
    assert!(matches!(bad(""), ReadError::Empty));
    assert!(matches!(bad("# only this\n"), ReadError::Empty));
    assert!(matches!(bad("time s\n"), ReadError::NoRows(_)));
    assert!(matches!(read(&b"\xff\xfet\0i\0"[..], &Options::default()), Err(ReadError::Utf16)));
}

/// Each kind of bad line is named with its number; strict refuses the file, lenient gives rows and faults.
#[test]
fn bad_lines_are_named() {
    let csv = "time s;current A\n0;0,5\n1;0,5;3\n2\n3;abc\n4;OL\n5;1.5\n6;\"0,5\n2;0,4\n7;0,4\n8;0,";
    let ReadError::Lines(faults) = bad(csv) else { panic!("must be refused") };
    let listed: Vec<u64> = faults.listed.iter().map(|fault| fault.line).collect();
    assert_eq!(listed, [3, 4, 5, 6, 7, 8]);
    let kinds: Vec<&FaultKind> = faults.listed.iter().map(|fault| &fault.kind).collect();
    assert!(matches!(kinds[0], FaultKind::TooManyCells { expected: 2 }));
    assert!(matches!(kinds[1], FaultKind::TooFewCells { found: 1, expected: 2 }));
    assert!(matches!(kinds[2], FaultKind::NotANumber { text, .. } if text == "abc"));
    assert!(matches!(kinds[3], FaultKind::Overload { .. }));
    assert!(matches!(kinds[4], FaultKind::OtherDecimalMark { text, .. } if text == "1.5"));
    assert!(matches!(kinds[5], FaultKind::OpenQuote));
    let words = faults.to_string();
    assert!(words.contains("line 5: `abc` under `current A`"), "{words}");

    let readings = lenient(csv);
    assert_eq!(readings.lines, [2, 9, 10, 11]);
    assert_eq!(readings.faults, faults);
}

#[test]
fn faults_beyond_the_stated_count_are_counted() {
    let csv = format!("time s\n{}1\n", "x\n".repeat(1000));
    let options = Options { reports: 3, ..Options::default() };
    let Err(ReadError::Lines(faults)) = read(csv.as_bytes(), &options) else { panic!() };
    assert_eq!((faults.listed.len(), faults.unlisted, faults.count()), (3, 997, 1000));
    assert!(faults.to_string().ends_with("and 997 more faulty lines"));
    let none = Options { reports: 0, ..Options::default() };
    let Err(ReadError::Lines(faults)) = read(csv.as_bytes(), &none) else { panic!() };
    assert_eq!(faults.to_string(), "1000 faulty lines");
}

#[test]
fn a_torn_last_line_is_noticed() {
    let torn = "time s,current A\n0,0.5\n1,0.5\n2";
    let ReadError::Lines(faults) = bad(torn) else { panic!() };
    assert!(matches!(&faults.listed[0].kind, FaultKind::Torn { .. }), "{faults}");
    assert_eq!(lenient(torn).rows(), 2);
    // Complete but without line break: it may be `0.5` or the beginning of `0.512`.
    let perhaps = good("time s,current A\n0,0.5\n1,0.5");
    assert_eq!(perhaps.remarks, [Remark::NoFinalLineBreak { line: 3 }]);
}

#[test]
fn times_are_watched() {
    let repeated = good("time s,current A\n0,0.5\n0,0.5\n1,0.5\n1,0.4\n1,0.4\n");
    assert_eq!(repeated.remarks, [Remark::TimesRepeated { line: 3, count: 3 }]);
    assert_eq!(
        repeated.remarks[0].to_string(),
        "3 rows have the time of the row before, the first in line 3"
    );
    let once = good("time s,current A\n0,0.5\n0,0.5\n").remarks[0].to_string();
    assert_eq!(once, "1 row has the time of the row before, the first in line 3");
    let ReadError::Lines(faults) = bad("time min,current A\n0,0.5\n2,0.5\n1,0.5\n3,0.5\n") else { panic!() };
    assert_eq!(faults.count(), 1);
    assert_eq!(
        faults.to_string(),
        "line 4: time runs backwards, from 2 min to 1 min: a clock that was set, or two logs in one file?"
    );
}

fn seconds(csv: &str) -> Vec<Option<f64>> {
    good(csv).columns[0].iter().map(|t| t.map(|t| (1e9 * t).round() / 1e9)).collect()
}

/// Times of day become seconds since the first row, however they are written.
#[test]
fn times_of_day_are_read() {
    let expected = [Some(0.0), Some(60.0), None, Some(3660.5)];
    for csv in [
        "time,current A\n14:05:00,1\n14:06:00,1\n,1\n15:06:00.5,1\n",
        "time;current A\n9:05:00;1,5\n9:06:00;1\n-;1\n10:06:00,5;1\n",
        "time hh:mm:ss,current A\n14:05:00,1\n14:06:00,1\n,1\n15:06:00.5,1\n",
        "time (hh:mm:ss.s),current A\n14:05:00.0,1\n14:06:00.0,1\n,1\n15:06:00.5,1\n",
        "time,current A\n2025-01-31T14:05:00,1\n2025-01-31T14:06:00,1\n,1\n2025-01-31T15:06:00.500,1\n",
        "time,current A\n2025-01-31 14:05,1\n2025-01-31 14:06,1\n,1\n2025-01-31 15:06:00.5,1\n",
        // The clocks went back an hour in between; with the offset nothing is lost.
        "time,current A\n2025-10-26T02:05:00+02:00,1\n2025-10-26T00:06:00Z,1\n,1\n2025-10-26T02:06:00.5+0100,1\n",
        // A stopwatch.
        "time mm:ss,current A\n00:00,1\n01:00,1\n,1\n61:00.5,1\n",
        "time mm:ss,current A\n00:00,1\n01:00,1\n,1\n1:01:00.5,1\n",
        "time,current A\n00:00.0,1\n01:00.0,1\n,1\n1:01:00.5,1\n",
    ] {
        assert_eq!(seconds(csv), expected, "{csv}");
    }
    assert_eq!(seconds("time hh:mm\n14:05\n15:06\n"), [Some(0.0), Some(3660.0)]);
    // From midnight to midnight a day; 2024 is a leap year, 2100 is none (Gregorian calendar).
    let day =
        |from: &str, to: &str| seconds(&format!("time\n{from} 00:00\n{to} 00:00\n"))[1].unwrap() / 86400.0;
    assert_eq!(day("2024-02-28", "2024-03-01"), 2.0);
    assert_eq!(day("2100-02-28", "2100-03-01"), 1.0);
    assert_eq!(day("2024-12-31", "2025-01-01"), 1.0);
}

/// A log without dates goes on past midnight; what goes back by less is named.
#[test]
fn midnight_is_passed() {
    let log = "time\n23:59:58\n23:59:59.5\n00:00:01\n12:00:00\n23:00:00\n01:00:00\n";
    let hours = 3600.0;
    let expected = [0.0, 1.5, 3.0, 12.0 * hours + 2.0, 23.0 * hours + 2.0, 25.0 * hours + 2.0];
    assert_eq!(seconds(log), expected.map(Some));
    assert_eq!(good(log).remarks, [Remark::Midnight { line: 4, count: 2 }]);
    let said = good(log).remarks[0].to_string();
    assert!(said.contains("midnight 2 times, first in line 4"), "{said}");
    let back = bad("time\n14:05:00\n13:05:00\n").to_string();
    assert!(back.starts_with("line 3: time runs backwards, from 14:05:00 to 13:05:00"), "{back}");
    // With dates nothing is guessed, and a stopwatch beyond a day has no midnight.
    let dated = bad("time\n2025-01-31 23:59:00\n2025-01-31 00:01:00\n").to_string();
    assert!(dated.contains("backwards, from 2025-01-31 23:59:00 to"), "{dated}");
    assert_eq!(seconds("time\n23:00:00\n25:00:00\n"), [Some(0.0), Some(2.0 * hours)]);
    assert!(bad("time\n25:00:00\n01:00:00\n").to_string().contains("backwards"));
    // A row that is left out does not move the clock.
    let csv = "time,current A\n23:00:00,1\n01:00:00,x\n23:30:00,1\n";
    let times: Vec<_> = lenient(csv).columns[0].iter().collect();
    assert_eq!(times, [Some(0.0), Some(1800.0)]);
}

/// Whatever may be meant in two ways is named, with what to do.
#[test]
fn unclear_times_of_day_are_named() {
    for (csv, said) in [
        (
            "time\n14:05\n14:06\n",
            "line 2: `14:05` under `time` may be hours and minutes or minutes and seconds",
        ),
        ("time s\n14:05:00\n", "`14:05:00` under `time s` is a time of day; without a unit"),
        ("time\n60\n", "`60` under `time` is not a time such as 14:05:00"),
        ("time\n2:05:00 PM\n", "is not a time"),
        ("time\n14:61:00\n", "is not a time"),
        ("time\n14:05:00:00\n", "is not a time"),
        ("time\n14:05:00+01:00\n", "is not a time"),
        ("time\n2025-01-31\n", "is not a time"),
        ("time\n2025-01-31T24:00:01\n", "is not a time"),
        ("time\n31.01.2025 14:05:00\n", "is not a time"),
        ("time\n2025-02-30 14:05:00\n", "there is no such date"),
        ("time\n2025-01-31 14:05:00\n14:06:00\n", "line 3: `14:06:00` under `time`: a date or an offset"),
        ("time\n2025-01-31T14:05:00Z\n2025-01-31T14:06:00\n", "line 3"),
        ("time\n14:05:00\n14:06:0", "line 3: the last line is torn off"),
    ] {
        let found = bad(csv).to_string();
        assert!(found.contains(said), "{csv}: {found}");
    }
    let ReadError::Header { faults, .. } = bad("time,time s\n14:05:00,0\n") else { panic!() };
    assert_eq!((faults[0].cell, faults[0].message.as_str()), (2, "another column holds the same"));
    assert!(matches!(bad("time hh-mm\n14:05:00\n"), ReadError::Header { .. }));
}

/// Gauss given as millitesla, Fahrenheit as Celsius, milliamperes as amperes, and the reverse.
#[test]
fn mixed_up_units_are_named() {
    let expect = |measurand, statistic, low, high| Expectation { measurand, statistic, low, high };
    let options = Options {
        expectations: vec![
            expect(Measurand::Field, Statistic::Upper, 0.03, 0.25),
            expect(Measurand::Current, Statistic::Upper, 0.1, 3.0),
            expect(Measurand::Temperature("back".into()), Statistic::First, 278.15, 313.15),
            expect(Measurand::Pull, Statistic::Upper, 50.0, 500.0),
        ],
        ..Options::default()
    };
    let remarks = |csv: &str| read(csv.as_bytes(), &options).unwrap().remarks;
    let right = "field mT,current A,back °C,pull N\n80,0.5,21,200\n81,0.45,60,210\n-82,0,80,220\n";
    assert_eq!(remarks(right), []);
    let units = |remark: &Remark| match remark {
        Remark::OtherUnit { given, likely, .. } => (*given, *likely),
        other => panic!("{other}"),
    };
    let wrong = "field mT,current A,back °C,pull N\n800,500,70,20\n810,450,140,21\n-820,0,176,22\n";
    let found: Vec<_> = remarks(wrong).iter().map(units).collect();
    assert_eq!(found, [("mT", "G"), ("A", "mA"), ("°C", "°F"), ("N", "kgf")]);
    let wrong = "field G,current mA,back °F,pull kgf\n80,0.5,21,200\n81,0.45,60,210\n-82,0,80,220\n";
    let found: Vec<_> = remarks(wrong).iter().map(units).collect();
    assert_eq!(found, [("G", "mT"), ("mA", "A"), ("°F", "°C"), ("kgf", "N")]);
    // No unit explains this one: it is said all the same.
    let far = remarks("field mT\n0.003\n0.003\n");
    assert!(matches!(&far[..], [Remark::Unexpected { .. }]), "{far:?}");
    let words = remarks("field mT\n800\n")[0].to_string();
    assert!(words.contains("`: 800 mT is not what to expect, 800 G would be"), "{words}");
}

/// What the page on the format shows is read as it says.
#[test]
fn the_page_tells_the_truth() {
    let page = include_str!("../../../docs/readings.md");
    let block = |kind: &str| {
        let after = page.split_once(&format!("```{kind}\n")).expect("an example").1;
        after.split_once("```").expect("its end").0
    };
    let readings = good(block("csv"));
    assert_eq!(columns(&readings)[0], [0.0, 20.0, 45.0, 250.0].map(Some));
    let field = readings.columns_of(&Measurand::Field).next().unwrap();
    assert_eq!((field.get(1), readings.place(field, Axis::R, 1)), (Some(0.0173), Some(0.008)));
    assert_eq!((field.instrument.as_deref(), field.get(3)), (Some("probe"), None));
    let set = coilwright_bench::instrument::parse(block("toml"), "page").unwrap();
    assert!((set.get("ruler").unwrap().offset - 0.5e-3).abs() < 1e-12);
    for (cells, faulty) in [
        ("14:05:00\n14:05:00.5", false),
        ("2025-01-31T14:05:00\n2025-01-31 14:05", false),
        ("2025-01-31T14:05:00Z\n2025-01-31T15:06:00+01:00", false),
        ("05:30.5", false),
        ("31:10:00", false),
        ("14:05", true),
    ] {
        let found = read(format!("time\n{cells}\n").as_bytes(), &Options::default());
        assert_eq!(found.is_err(), faulty, "{cells}: {found:?}");
    }
}

/// CRC-32 check value of `123456789` is cbf43926 (ISO 3309, as in every catalogue of CRCs; from memory); every byte counts.
#[test]
fn the_checksum_is_of_the_bytes() {
    let csv = "123456789";
    assert!(read(csv.as_bytes(), &Options::default()).is_err());
    let one = good("# 1\ntime s\n1\n").checksum;
    let other = good("# 2\ntime s\n1\n").checksum;
    assert!(one.starts_with("crc32:") && one.len() == 14 && one != other);
    // `python3 -c "import zlib; print(hex(zlib.crc32(b'# 1\ntime s\n1\n')))"`
    assert_eq!(one, "crc32:a4d06fdd");
}

#[test]
fn a_line_without_end_does_not_fill_the_memory() {
    let csv = format!("time s\n1\n{}\n2\n", "9".repeat(1_000_000));
    let ReadError::Lines(faults) = bad(&csv) else { panic!() };
    assert!(matches!(faults.listed[0].kind, FaultKind::TooLong { .. }));
    assert_eq!((faults.count(), faults.listed[0].line), (1, 3));
    assert_eq!(lenient(&csv).lines, [2, 4]);
}

/// The reader of the bytes fails: that is an error, not the end of the file.
#[test]
fn io_errors_come_through() {
    struct Broken(usize);
    impl std::io::Read for Broken {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            let rest = &b"time s\n1\n"[self.0..];
            if rest.is_empty() {
                return Err(std::io::Error::other("unplugged"));
            }
            buffer[0] = rest[0];
            self.0 += 1;
            Ok(1)
        }
    }
    let reader = std::io::BufReader::with_capacity(1, Broken(0));
    assert!(matches!(read(reader, &Options::default()), Err(ReadError::Io(_))));
}

proptest! {
    /// Whatever the bytes: no panic, and every line is a row, a fault, blank, or the header.
    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        for header in [&b"time s;current A\n"[..], b"time;current A\n"] {
            let csv = [header, &bytes[..]].concat();
            let lines = csv.split(|b| *b == b'\n').count();
            if let Ok(readings) = read(&csv[..], &Options { lenient: true, ..Options::default() }) {
                prop_assert!(readings.rows() + readings.faults.count() <= lines);
                prop_assert_eq!(readings.columns[1].iter().count(), readings.rows());
            }
        }
    }

    /// Whatever looks like times: no panic, and those that are read do not run backwards.
    #[test]
    fn any_times(times in proptest::collection::vec("[0-9]{1,4}[:. T-]?[0-9:.,TZ+ -]{0,20}", 0..20)) {
        let csv = format!("time\n{}\n", times.join("\n"));
        if let Ok(readings) = read(csv.as_bytes(), &Options { lenient: true, ..Options::default() }) {
            let found: Vec<f64> = readings.columns[0].iter().flatten().collect();
            prop_assert!(found.is_sorted() && found.first().is_none_or(|t| *t == 0.0), "{found:?}");
        }
    }

    /// What is written is read back, with a point or a comma.
    #[test]
    fn numbers_survive(values in proptest::collection::vec(-99_999.0..99_999.0f64, 1..50), comma in any::<bool>()) {
        let text: String = values.iter().map(|v| format!("{v};1\n")).collect();
        let text = if comma { text.replace('.', ",") } else { text };
        let readings = good(&format!("voltage V;current A\n{text}"));
        let found: Vec<f64> = readings.columns[0].iter().flatten().collect();
        prop_assert_eq!(found, values);
    }
}

/// Neither a pull that pushes nor one of a hundred thousand tonnes is a reading, nor are megavolts.
#[test]
fn what_no_bench_reads_is_a_fault() {
    for (column, cell, word) in
        [("pull N", "-50", "not below nought"), ("pull N", "1e9", "100 MN"), ("voltage V", "24e6", "100 kV")]
    {
        let error = bad(&format!("{column}, current A\n1,0.5\n{cell},0.5\n")).to_string();
        assert!(error.contains("line 3") && error.contains(column) && error.contains(word), "{error}");
    }
}

/// Below absolute zero, in another unit than the header's, or from a broken thermocouple.
#[test]
fn a_temperature_that_cannot_be_is_a_fault() {
    for (unit, cell) in [("°C", "-300"), ("K", "21.5"), ("°C", "1372"), ("°F", "-500"), ("°C", "294.6e3")]
    {
        let error = bad(&format!("time s,back {unit}\n0,\n60,{cell}\n")).to_string();
        assert!(error.contains("line 3") && error.contains(&format!("back {unit}")), "{error}");
        assert!(error.contains("-60 °C and 500 °C"), "{error}");
    }
    let ends = good("time s,back °C\n0,-59\n60,499\n");
    assert_eq!(ends.columns[1].present(), 2);
}
