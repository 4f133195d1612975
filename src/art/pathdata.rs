//! The grammar of path data, checked without building a path.
//!
//! The SVG library keeps what it understood of broken path data and says
//! nothing; a face with half its outline missing would be sawn. This finds the
//! first fault. Grammar: SVG 1.1, 8.3.9.

/// What is wrong with path data, and where in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    /// Byte offset in the data.
    pub(super) at: usize,
    /// What is wrong there.
    pub(super) what: &'static str,
}

/// Largest number a coordinate may have; beyond it `f32` no longer tells
/// neighbouring millimetres apart.
const LARGEST: f64 = 1e9;

/// An upper bound on the number of path commands or points in `data`.
pub(super) fn commands_at_most(data: &str) -> u64 {
    data.bytes().filter(|b| b.is_ascii_alphabetic() || b.is_ascii_whitespace() || matches!(b, b',' | b'-')).count()
        as u64
        + 1
}

/// Checks `data` against the grammar and for numbers that are too large.
///
/// # Errors
/// The first [`Fault`].
pub(super) fn check(data: &str) -> Result<(), Fault> {
    each_command(data, |_, _| {})
}

/// Walks `data`, giving each command letter with one round of its arguments.
///
/// # Errors
/// The first [`Fault`].
pub(super) fn each_command(data: &str, mut take: impl FnMut(u8, &[f64])) -> Result<(), Fault> {
    let mut scan = Scan { data: data.as_bytes(), at: 0 };
    scan.spaces();
    if scan.peek().is_some_and(|b| !matches!(b, b'M' | b'm')) {
        return Err(scan.fault("path data must start with a move"));
    }
    while let Some(command) = scan.peek() {
        let Some(kinds) = arguments(command) else { return Err(scan.fault("not a path command")) };
        scan.at += 1;
        scan.command(command, kinds, &mut take)?;
    }
    Ok(())
}

/// Checks a list of points or other plain numbers.
///
/// # Errors
/// The first [`Fault`].
pub(super) fn check_numbers(list: &str) -> Result<(), Fault> {
    let mut scan = Scan { data: list.as_bytes(), at: 0 };
    scan.spaces();
    while scan.peek().is_some() {
        scan.number()?;
        scan.comma();
    }
    Ok(())
}

/// The arguments of one round of a command: `n` a number, `f` an arc flag.
const fn arguments(command: u8) -> Option<&'static [u8]> {
    Some(match command.to_ascii_uppercase() {
        b'M' | b'L' | b'T' => b"nn",
        b'H' | b'V' => b"n",
        b'S' | b'Q' => b"nnnn",
        b'C' => b"nnnnnn",
        b'A' => b"nnnffnn",
        b'Z' => b"",
        _ => return None,
    })
}

struct Scan<'a> {
    data: &'a [u8],
    at: usize,
}

impl Scan<'_> {
    fn peek(&self) -> Option<u8> {
        self.data.get(self.at).copied()
    }

    const fn fault(&self, what: &'static str) -> Fault {
        Fault { at: self.at, what }
    }

    fn spaces(&mut self) {
        while self.peek().is_some_and(|b| b.is_ascii_whitespace()) {
            self.at += 1;
        }
    }

    fn comma(&mut self) {
        self.spaces();
        if self.peek() == Some(b',') {
            self.at += 1;
            self.spaces();
        }
    }

    /// One or more rounds of a command's arguments. Rounds after a move are
    /// lines.
    fn command(&mut self, command: u8, kinds: &[u8], take: &mut impl FnMut(u8, &[f64])) -> Result<(), Fault> {
        self.spaces();
        let (mut command, mut values) = (command, [0.0; 7]);
        loop {
            for (value, &kind) in values.iter_mut().zip(kinds) {
                *value = if kind == b'f' { self.flag()? } else { self.number()? };
                self.comma();
            }
            take(command, &values[..kinds.len()]);
            command = match command {
                b'M' => b'L',
                b'm' => b'l',
                other => other,
            };
            let another = self.peek().is_some_and(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.'));
            if kinds.is_empty() || !another {
                return Ok(());
            }
        }
    }

    fn flag(&mut self) -> Result<f64, Fault> {
        match self.peek() {
            Some(flag @ (b'0' | b'1')) => {
                self.at += 1;
                Ok(f64::from(flag - b'0'))
            }
            _ => Err(self.fault("an arc flag must be 0 or 1")),
        }
    }

    fn digits(&mut self) -> usize {
        let start = self.at;
        while self.peek().is_some_and(|b| b.is_ascii_digit()) {
            self.at += 1;
        }
        self.at - start
    }

    fn number(&mut self) -> Result<f64, Fault> {
        let start = self.at;
        if matches!(self.peek(), Some(b'+' | b'-')) {
            self.at += 1;
        }
        let mut digits = self.digits();
        if self.peek() == Some(b'.') {
            self.at += 1;
            digits += self.digits();
        }
        if digits == 0 {
            self.at = start;
            return Err(self.fault("a number is missing or misspelt"));
        }
        self.exponent();
        let text = std::str::from_utf8(&self.data[start..self.at]).unwrap_or("");
        match text.parse::<f64>() {
            Ok(value) if value.abs() <= LARGEST => Ok(value),
            _ => Err(Fault { at: start, what: "a number is far too large" }),
        }
    }

    /// An exponent, if one is there; `e` of `em` is not (it never is, in paths).
    fn exponent(&mut self) {
        let start = self.at;
        if matches!(self.peek(), Some(b'e' | b'E')) {
            self.at += 1;
            if matches!(self.peek(), Some(b'+' | b'-')) {
                self.at += 1;
            }
            if self.digits() == 0 {
                self.at = start;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn good_data_passes() {
        let good = [
            "",
            "  M0 0",
            "M0,0L10-5.5.5 1zm1e-3+2E2",
            "M1 2 3 4 5 6z",
            "m.5.5a1 1 0 00.5.5A1,1,0,1,1,3,4",
            "M0 0h1v2H3V4s1 2 3 4S1 2 3 4q1 2 3 4t5 6T7 8c1 2 3 4 5 6 1 2 3 4 5 6Z M1 1\n",
        ];
        for data in good {
            assert_eq!(check(data), Ok(()), "{data}");
        }
    }

    #[test]
    fn faults_are_found_where_they_are() {
        let cases = [
            ("L1 1", 0, "path data must start with a move"),
            ("M0 0 L10", 8, "a number is missing or misspelt"),
            ("M0 0 X1", 5, "not a path command"),
            ("M0 0 LNaN 1", 6, "a number is missing or misspelt"),
            ("M0 0 L1e308 1", 6, "a number is far too large"),
            ("M0 0 A1 1 0 2 1 5 5", 12, "an arc flag must be 0 or 1"),
            ("M0 0z5", 5, "not a path command"),
        ];
        for (data, at, what) in cases {
            assert_eq!(check(data), Err(Fault { at, what }), "{data}");
        }
        assert_eq!(check_numbers("0,0 10 10 x"), Err(Fault { at: 10, what: "a number is missing or misspelt" }));
        assert_eq!(check_numbers(" 0,0 1e3 -5"), Ok(()));
    }
}
