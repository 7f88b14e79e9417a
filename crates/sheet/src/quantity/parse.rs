//! Reads `28 mm ± 0.2 mm` and its like.
//!
//! `number unit`, `number unit ± number unit`, `number ± number unit`, `(number ± number) unit`; a tolerance may
//! be a percentage of the value. `+/-` serves for `±`. The decimal sign is a full stop; a comma is taken for one
//! only where it cannot be a thousands separator.

use super::unit::{Unit, plain};
use super::{Dimension, Quantity};
use std::fmt;
use std::ops::Range;

/// Why a text is not the wanted quantity, and where in the text.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{fault}")]
pub struct QuantityError {
    /// What is wrong.
    pub fault: QuantityFault,
    /// The offending bytes of the text.
    pub range: Range<usize>,
    /// What to write instead.
    pub hint: String,
}

/// What can be wrong with the text of a quantity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)]
pub enum QuantityFault {
    #[error("the text is empty; {} was expected", Article(*.expected))]
    Empty { expected: Dimension },
    #[error("`{found}` does not begin with a number; {} was expected", Article(*.expected))]
    NoNumber { found: String, expected: Dimension },
    #[error("`{found}` cannot be read as one number")]
    BadNumber { found: String },
    #[error("`{found}` could mean two different numbers")]
    AmbiguousNumber { found: String },
    #[error("`{found}` is not a finite number")]
    NotFinite { found: String },
    #[error("`{found}` is too large or too small to compute with")]
    OutOfRange { found: String },
    #[error("`{found}` has no unit; {} was expected", Article(*.expected))]
    MissingUnit { found: String, expected: Dimension },
    #[error("`{found}` is a unit of {}; {} was expected", .is.name(), Article(*.expected))]
    WrongUnit { found: String, is: Dimension, expected: Dimension },
    #[error("`{found}` is not a unit of {}", .expected.name())]
    UnknownUnit { found: String, expected: Dimension },
    #[error("`{found}` has a unit; a {} is a bare number", .expected.name())]
    NeedlessUnit { found: String, expected: Dimension },
    #[error("the tolerance `{found}` has no unit")]
    ToleranceWithoutUnit { found: String },
    #[error("there is no tolerance after the `±`")]
    ToleranceMissing,
    #[error("the tolerance `{found}` is negative")]
    NegativeTolerance { found: String },
    #[error("a tolerance in per cent of a temperature in {unit} has no meaning")]
    PercentOfTemperature { unit: &'static str },
    #[error("a tolerance in per cent of a ratio could be a share of it or percentage points")]
    PercentOfRatio,
    #[error("`{found}` is not a symmetric tolerance")]
    Asymmetric { found: String },
    #[error("`{found}` is below absolute zero")]
    BelowAbsoluteZero { found: String },
}

/// `a length`, `an angle`.
struct Article(Dimension);

impl fmt::Display for Article {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.0.name();
        let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        write!(f, "{article} {name}")
    }
}

impl Quantity {
    /// Reads a quantity of the wanted kind.
    ///
    /// ```
    /// use coilwright_sheet::quantity::{Dimension, Quantity};
    /// let d = Quantity::parse("28 mm ± 0.2 mm", Dimension::Length).unwrap();
    /// assert_eq!((d.value, d.half_width), (0.028, 0.0002));
    /// assert!(Quantity::parse("28 V", Dimension::Length).is_err());
    /// ```
    pub fn parse(text: &str, dimension: Dimension) -> Result<Self, QuantityError> {
        Reader { text, dimension }.read()
    }
}

struct Reader<'t> {
    text: &'t str,
    dimension: Dimension,
}

/// A number and what follows it, with their places in the whole text.
struct Part {
    number: f64,
    number_at: Range<usize>,
    unit_at: Range<usize>,
}

impl Reader<'_> {
    fn read(&self) -> Result<Quantity, QuantityError> {
        let whole = trimmed(self.text, 0..self.text.len());
        let expected = self.dimension;
        if whole.is_empty() {
            return self.fail(QuantityFault::Empty { expected }, 0..self.text.len(), self.examples());
        }
        // `(28.0 ± 0.2) mm`
        let close = self.text[whole.clone()].find(')').map(|i| whole.start + i);
        if let Some(close) = close.filter(|_| self.text[whole.clone()].starts_with('(')) {
            let common = trimmed(self.text, close + 1..whole.end);
            let (value, tolerance) = self.split(trimmed(self.text, whole.start + 1..close))?;
            for part in std::iter::once(&value).chain(&tolerance) {
                if !part.unit_at.is_empty() {
                    let found = self.slice(&part.unit_at);
                    let hint = format!("write the unit once, after the bracket, {}", self.examples());
                    return self.fail(
                        QuantityFault::UnknownUnit { found, expected },
                        part.unit_at.clone(),
                        hint,
                    );
                }
            }
            let value = Part { unit_at: common.clone(), ..value };
            let tolerance = tolerance.map(|t| Part { unit_at: common, ..t });
            return self.assemble(&value, tolerance.as_ref(), true);
        }
        let (value, tolerance) = self.split(whole)?;
        self.assemble(&value, tolerance.as_ref(), false)
    }

    /// Splits at the `±` and reads the number at the head of each side.
    fn split(&self, at: Range<usize>) -> Result<(Part, Option<Part>), QuantityError> {
        let text = &self.text[at.clone()];
        let Some((offset, length)) = plus_minus(text) else { return Ok((self.part(at)?, None)) };
        let value = self.part(trimmed(self.text, at.start..at.start + offset))?;
        let after = trimmed(self.text, at.start + offset + length..at.end);
        if after.is_empty() {
            let hint = format!("write the tolerance, {}, or leave the `±` out", self.examples());
            return self.fail(QuantityFault::ToleranceMissing, at.start + offset..at.end, hint);
        }
        Ok((value, Some(self.part(after)?)))
    }

    fn part(&self, at: Range<usize>) -> Result<Part, QuantityError> {
        let text = &self.text[at.clone()];
        let told_otherwise = match self.dimension {
            Dimension::Resistance => letter_for_stop(text),
            Dimension::Length => fraction(text),
            Dimension::Time => several_units(text),
            _ => None,
        };
        if let Some((number, number_at, unit_at)) = told_otherwise {
            let whole = |range: Range<usize>| at.start + range.start..at.start + range.end;
            return Ok(Part { number, number_at: whole(number_at), unit_at: whole(unit_at) });
        }
        let (number, length) = self.number(text, at.start)?;
        let number_at = at.start..at.start + length;
        let unit_at = trimmed(self.text, number_at.end..at.end);
        let unit = &self.text[unit_at.clone()];
        if unit.starts_with(|c: char| c.is_ascii_digit()) && !unit.starts_with("1/") {
            let joined: String =
                text.chars().take_while(|c| c.is_ascii_digit() || c.is_whitespace() || *c == '.').collect();
            let joined: String = joined.split_whitespace().collect();
            let hint = format!("write the digits without a space: `{joined}`");
            let until = at.start + text.trim_end_matches(|c: char| !c.is_ascii_digit()).len();
            return self.fail(QuantityFault::BadNumber { found: self.slice(&at) }, at.start..until, hint);
        }
        let signed = |sign: char| {
            let after = unit.split_once(sign).map(|(_, rest)| rest.trim_start());
            after.is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
        };
        if signed('+') || signed('-') || signed('−') {
            let hint = "give the middle of the range and half its width, such as `28.05 mm ± 0.15 mm`";
            return self.fail(QuantityFault::Asymmetric { found: self.slice(&at) }, unit_at, hint.into());
        }
        Ok(Part { number, number_at, unit_at })
    }

    /// The number at the head of `text`, and its length in bytes.
    fn number(&self, text: &str, start: usize) -> Result<(f64, usize), QuantityError> {
        let expected = self.dimension;
        let sign_length = text.chars().next().filter(|c| "+-−".contains(*c)).map_or(0, char::len_utf8);
        let body = &text[sign_length..];
        let lower: String = body.chars().take(8).collect::<String>().to_ascii_lowercase();
        if lower.starts_with("nan") || lower.starts_with("inf") || lower.starts_with('∞') {
            let hint = format!("write a number, {}", self.examples());
            return self.fail(QuantityFault::NotFinite { found: cut(text) }, start..start + text.len(), hint);
        }
        let digits = body.find(|c: char| !(c.is_ascii_digit() || ".,_'".contains(c))).unwrap_or(body.len());
        let mantissa = &body[..digits];
        if !mantissa.contains(|c: char| c.is_ascii_digit()) {
            let hint = format!("begin with a number, {}", self.examples());
            return self.fail(
                QuantityFault::NoNumber { found: cut(text), expected },
                start..start + text.len(),
                hint,
            );
        }
        let mut length = sign_length + digits;
        let mut exponent = "";
        if let Some(tail) = body[digits..].strip_prefix(['e', 'E']) {
            let signed = tail.strip_prefix(['+', '-']).unwrap_or(tail);
            let count = signed.find(|c: char| !c.is_ascii_digit()).unwrap_or(signed.len());
            if count > 0 {
                exponent = &tail[..tail.len() - signed.len() + count];
                length += 1 + exponent.len();
            }
        }
        let at = start..start + length;
        let found = cut(&text[..length]);
        let mantissa = match decimal(mantissa) {
            Ok(m) => m,
            Err(Decimal::Malformed) => {
                let hint = format!("write digits with one full stop at most, {}", self.examples());
                return self.fail(QuantityFault::BadNumber { found }, at, hint);
            }
            Err(Decimal::Grouped) => {
                // Of several separators the last is the decimal sign, if there is but one of its kind.
                let sign = mantissa.rfind([',', '.']);
                let sign = sign.filter(|at| mantissa.matches(&mantissa[*at..=*at]).count() == 1);
                let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
                let bare = match sign {
                    Some(at) => format!("{}.{}", digits(&mantissa[..at]), digits(&mantissa[at..])),
                    None => digits(mantissa),
                };
                let hint = format!("write the digits without separators: `{bare}`");
                return self.fail(QuantityFault::BadNumber { found }, at, hint);
            }
            Err(Decimal::Ambiguous) => {
                let one = mantissa.replace(',', "");
                let other = mantissa.replace(',', ".");
                let hint = format!("write `{one}` or `{other}`: the decimal sign is a full stop");
                return self.fail(QuantityFault::AmbiguousNumber { found }, at, hint);
            }
        };
        let sign = if sign_length > 0 && !text.starts_with('+') { "-" } else { "" };
        let exponent = if exponent.is_empty() { "0" } else { exponent };
        let number: f64 = match format!("{sign}{mantissa}e{exponent}").parse() {
            Ok(n) => n,
            Err(_) => return self.fail(QuantityFault::BadNumber { found }, at, self.examples()),
        };
        let vanished = number == 0.0 && mantissa.contains(|c: char| ('1'..='9').contains(&c));
        if !number.is_finite() || vanished {
            return self.fail(
                QuantityFault::OutOfRange { found },
                at,
                format!("write it {}", self.examples()),
            );
        }
        Ok((number, length))
    }

    fn assemble(
        &self,
        value: &Part,
        tolerance: Option<&Part>,
        bracketed: bool,
    ) -> Result<Quantity, QuantityError> {
        let expected = self.dimension;
        let bare_allowed = matches!(expected, Dimension::Ratio | Dimension::Count);
        // `28 ± 0.2 mm`: the unit stands once, at the end.
        let shared = value.unit_at.is_empty() && !bare_allowed;
        let unit_at = match tolerance {
            Some(t) if shared && !t.unit_at.is_empty() && plain(&self.text[t.unit_at.clone()]) != "%" => {
                &t.unit_at
            }
            _ => &value.unit_at,
        };
        let unit = self.unit(unit_at, value)?;
        let si = unit.to_si(value.number);
        let whole = value.number_at.start..unit_at.end.max(value.number_at.end);
        if !si.is_finite() || (si == 0.0 && value.number != 0.0 && unit.offset == 0.0) {
            let hint = format!("write it {}", self.examples());
            return self.fail(QuantityFault::OutOfRange { found: self.slice(&whole) }, whole, hint);
        }
        if expected == Dimension::Temperature && si < 0.0 {
            let hint = "0 K is -273.15 °C".to_owned();
            return self.fail(
                QuantityFault::BelowAbsoluteZero { found: self.slice(&value.number_at) },
                whole,
                hint,
            );
        }
        let half_width = match tolerance {
            None => 0.0,
            Some(t) => self.half_width(t, si, value, unit, bracketed)?,
        };
        Ok(Quantity { value: si, half_width, dimension: expected })
    }

    fn half_width(
        &self,
        t: &Part,
        si: f64,
        value: &Part,
        unit: &'static Unit,
        bracketed: bool,
    ) -> Result<f64, QuantityError> {
        let found = self.slice(&t.number_at);
        if t.number < 0.0 {
            let hint = "a tolerance is half the width of the range; write it without a sign".to_owned();
            return self.fail(QuantityFault::NegativeTolerance { found }, t.number_at.clone(), hint);
        }
        let at = t.number_at.start..t.unit_at.end.max(t.number_at.end);
        let spelling = &self.text[t.unit_at.clone()];
        let percent = matches!(plain(spelling).as_str(), "%" | "percent") && !bracketed;
        let half_width = if percent && self.dimension == Dimension::Ratio {
            let v = &self.text[value.number_at.clone()];
            let hint = format!(
                "write the tolerance as the value is written, such as `({v} ± {}) %` or `0.40 ± 0.02`",
                t.number
            );
            return self.fail(QuantityFault::PercentOfRatio, at, hint);
        } else if percent && unit.offset != 0.0 {
            let hint = format!("write the tolerance in kelvin, such as `± {} K`", t.number);
            return self.fail(QuantityFault::PercentOfTemperature { unit: unit.symbol }, at, hint);
        } else if percent {
            si.abs() * t.number / 100.0
        } else if spelling.is_empty() && !unit.symbol.is_empty() {
            let hint = format!(
                "write `± {} {}`, or `± {} %` if a share of the value is meant",
                t.number, unit.symbol, t.number
            );
            return self.fail(QuantityFault::ToleranceWithoutUnit { found }, at, hint);
        } else if self.dimension == Dimension::Temperature {
            // The tolerance of a temperature is a difference of temperatures.
            let difference = Reader { text: self.text, dimension: Dimension::TemperatureDifference };
            difference.unit(&t.unit_at, t)?.difference_to_si(t.number)
        } else {
            self.unit(&t.unit_at, t)?.difference_to_si(t.number)
        };
        if !half_width.is_finite() {
            let hint = format!("write it {}", self.examples());
            return self.fail(QuantityFault::OutOfRange { found }, at, hint);
        }
        Ok(half_width)
    }

    fn unit(&self, at: &Range<usize>, of: &Part) -> Result<&'static Unit, QuantityError> {
        let expected = self.dimension;
        let spelling = &self.text[at.clone()];
        if let Some(unit) = expected.unit(spelling) {
            return Ok(unit);
        }
        let number = self.slice(&of.number_at);
        let usual = expected.units()[0].symbol;
        if spelling.is_empty() {
            let hint = format!(
                "write `{number} {usual}`, or another unit of {}: {}",
                expected.name(),
                symbols(expected)
            );
            return self.fail(
                QuantityFault::MissingUnit { found: number, expected },
                of.number_at.clone(),
                hint,
            );
        }
        let found = cut(spelling);
        if expected == Dimension::Count {
            return self.fail(
                QuantityFault::NeedlessUnit { found, expected },
                at.clone(),
                format!("write `{number}`"),
            );
        }
        let better = slip(expected, spelling).or_else(|| nearest_unit(expected, spelling));
        let other = Dimension::ALL.into_iter().find(|d| *d != expected && d.unit(spelling).is_some());
        let hint = match better {
            Some(better) => format!(
                "did you mean `{number} {better}`? Units of {}: {}",
                expected.name(),
                symbols(expected)
            ),
            None => format!(
                "units of {}: {}; for instance `{number} {usual}`",
                expected.name(),
                symbols(expected)
            ),
        };
        let fault = match other {
            Some(is) => QuantityFault::WrongUnit { found, is, expected },
            None => QuantityFault::UnknownUnit { found, expected },
        };
        self.fail(fault, at.clone(), hint)
    }

    fn examples(&self) -> String {
        match self.dimension {
            Dimension::Ratio => "such as `0.4` or `40 %`".into(),
            Dimension::Count => "such as `900`".into(),
            Dimension::Temperature => "such as `85 °C`, `85 degC` or `358 K ± 2 K`".into(),
            Dimension::Voltage => "such as `24 V` or `24 V ± 0.5 %`".into(),
            d => {
                let unit = d.units()[0].symbol;
                format!("such as `5 {unit}` or `5 {unit} ± 0.2 {unit}`")
            }
        }
    }

    fn slice(&self, at: &Range<usize>) -> String {
        cut(&self.text[at.clone()])
    }

    fn fail<T>(&self, fault: QuantityFault, range: Range<usize>, hint: String) -> Result<T, QuantityError> {
        Err(QuantityError { fault, range, hint })
    }
}

/// A number with the places of its digits and of its unit.
type Told = (f64, Range<usize>, Range<usize>);

/// `4k7` for 4.7 kΩ, `18R2` for 18.2 Ω (IEC 60062:2016, clause 4): the letter stands for the decimal sign.
fn letter_for_stop(text: &str) -> Option<Told> {
    let at = text.find(['R', 'k', 'K', 'M'])?;
    let (whole, part) = (&text[..at], &text[at + 1..]);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let number = format!("{whole}.{part}").parse().ok()?;
    (digits(whole) && digits(part)).then_some((number, 0..text.len(), at..at + 1))
}

/// `1/64 in`, `1 1/64 in`, `5/16"`.
fn fraction(text: &str) -> Option<Told> {
    let slash = text.find('/')?;
    let (before, after) = (&text[..slash], &text[slash + 1..]);
    let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
    let below: u32 = after[..end].parse().ok().filter(|below| *below > 0)?;
    let mut words = before.split_whitespace().rev();
    let above: u32 = words.next()?.parse().ok()?;
    let whole: u32 = words.next().map_or(Some(0), |word| word.parse().ok())?;
    let number = f64::from(whole) + f64::from(above) / f64::from(below);
    let end = slash + 1 + end;
    let unit = end + text[end..].len() - text[end..].trim_start().len();
    words.next().is_none().then_some((number, 0..end, unit..text.len()))
}

/// `1 h 30 min`, `2min 15s`: each unit smaller than the one before it; in the last of them.
fn several_units(text: &str) -> Option<Told> {
    let (mut seconds, mut last, mut rest) = (0.0, None::<(f64, Range<usize>)>, text);
    let mut count = 0;
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).filter(|end| *end > 0)?;
        let number: f64 = rest[..digits].parse().ok()?;
        let behind = rest[digits..].trim_start();
        let letters = behind.find(|c: char| !c.is_alphabetic()).unwrap_or(behind.len());
        let unit = Dimension::Time.unit(&behind[..letters])?;
        if last.as_ref().is_some_and(|(factor, _)| *factor <= unit.factor) {
            return None;
        }
        let start = text.len() - behind.len();
        seconds += unit.to_si(number);
        last = Some((unit.factor, start..start + letters));
        rest = behind[letters..].trim_start();
        count += 1;
    }
    let (factor, unit_at) = last.filter(|_| count > 1)?;
    Some((seconds / factor, 0..unit_at.start, unit_at))
}

/// Where a `±` stands after the head of the text, and its length.
fn plus_minus(text: &str) -> Option<(usize, usize)> {
    ["±", "+/-", "+/−", "+-", "+−"].iter().filter_map(|s| text.find(s).map(|i| (i, s.len()))).min()
}

enum Decimal {
    Malformed,
    Grouped,
    Ambiguous,
}

/// Digits with a full stop as the decimal sign.
fn decimal(digits: &str) -> Result<String, Decimal> {
    let commas = digits.matches(',').count();
    let stops = digits.matches('.').count();
    if digits.contains(['_', '\'']) || commas > 1 || (commas > 0 && stops > 0) {
        return Err(Decimal::Grouped);
    }
    if stops > 1 {
        return Err(Decimal::Malformed);
    }
    let Some((whole, fraction)) = digits.split_once(',') else { return Ok(digits.to_owned()) };
    if whole.is_empty() || fraction.is_empty() {
        return Err(Decimal::Malformed);
    }
    // `1,250` may be twelve hundred and fifty; `0,125`, `28,5` and `1250,125` may not be anything but decimals.
    let thousands = fraction.len() == 3 && whole.len() <= 3 && !whole.starts_with('0');
    if thousands { Err(Decimal::Ambiguous) } else { Ok(format!("{whole}.{fraction}")) }
}

/// Common slips that spelling alone would not reveal.
fn slip(expected: Dimension, spelling: &str) -> Option<&'static str> {
    Some(match (expected, plain(spelling).as_str()) {
        (Dimension::Force, "kg" | "kgs" | "Kg" | "kilo") => "kgf",
        (Dimension::Force, "g") => "gf",
        (Dimension::Force, "lb" | "lbs") => "lbf",
        (Dimension::Mass, "kgf") => "kg",
        (Dimension::Mass, "lbf") => "lb",
        (Dimension::Temperature | Dimension::TemperatureDifference, "C" | "c" | "deg") => "degC",
        (Dimension::Temperature | Dimension::TemperatureDifference, "F") => "°F",
        (Dimension::Time, "m") => "min",
        (Dimension::Time, "H") => "h",
        (Dimension::FluxDensity, "Oe") => "G",
        (Dimension::FieldStrength, "G") => "Oe",
        (Dimension::Power, "VA") => "W",
        (Dimension::Energy | Dimension::StoredEnergy, "W") => "Wh",
        _ => return None,
    })
}

fn nearest_unit(expected: Dimension, spelling: &str) -> Option<&'static str> {
    let wanted = plain(&cut(spelling));
    let spellings = || {
        expected
            .units()
            .iter()
            .flat_map(|u| std::iter::once((u.symbol, u.symbol)).chain(u.also.iter().map(|a| (*a, u.symbol))))
    };
    let same_but_case = spellings().find(|(s, _)| plain(s).eq_ignore_ascii_case(&wanted));
    let close = || {
        let reach = (wanted.chars().count() / 2).clamp(1, 2);
        spellings()
            .filter(|(s, _)| !s.is_empty() && plain(s).chars().count() > 1)
            .map(|(s, symbol)| (strsim::osa_distance(&plain(s), &wanted), symbol))
            .filter(|(d, _)| *d <= reach)
            .min_by_key(|(d, _)| *d)
    };
    same_but_case.map(|(_, symbol)| symbol).or_else(|| close().map(|(_, symbol)| symbol))
}

fn symbols(dimension: Dimension) -> String {
    let symbols: Vec<_> = dimension.units().iter().map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
    symbols.join(", ")
}

fn trimmed(text: &str, at: Range<usize>) -> Range<usize> {
    let slice = &text[at.clone()];
    let start = at.start + (slice.len() - slice.trim_start().len());
    start..start + slice.trim().len()
}

/// At most forty characters of a text, for a message.
fn cut(text: &str) -> String {
    if text.chars().count() <= 40 { text.to_owned() } else { text.chars().take(39).chain(['…']).collect() }
}
