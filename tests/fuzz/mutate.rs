//! Changes bytes, numbers, words and whole pieces, as an attacker or a bad disk would.

/// A small generator (xorshift64*): the same seed makes the same inputs.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.max(1))
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    pub(crate) fn below(&mut self, bound: usize) -> usize {
        (self.next() >> 11) as usize % bound.max(1)
    }
}

/// Words that readers stumble over.
const WORDS: [&str; 34] = [
    "null",
    "true",
    "{}",
    "[]",
    "\"\"",
    "-1",
    "0",
    "1e999",
    "18446744073709551616",
    "-9223372036854775808",
    "9223372036854775807",
    "0.1",
    "\"\\u0000\"",
    "\"\\ud800\"",
    "../",
    "\r\n",
    "\n",
    "\0",
    "\u{feff}",
    "\u{202e}",
    "\"version\": 2",
    "\"revision\": 0",
    "\"kind\":\"struck\"",
    "\"target\":1",
    "\"kind\":\"opened\"",
    "\"take\":4294967295",
    "\"nm\":9223372036854775807",
    "\"value\":-1",
    "9999-12-31T23:59:59Z",
    "-262144-01-01T00:00:00Z",
    "sha256:",
    "ssh-rsa",
    "-----BEGIN SSH SIGNATURE-----",
    "valid-after=\"99991231Z\"",
];

pub(crate) fn mutate(sample: &[u8], all: &[Vec<u8>], random: &mut Random) -> Vec<u8> {
    let mut bytes = sample.to_vec();
    for _ in 0..=random.below(4) {
        once(&mut bytes, all, random);
    }
    bytes
}

fn once(bytes: &mut Vec<u8>, all: &[Vec<u8>], random: &mut Random) {
    let at = random.below(bytes.len());
    let end = (at + 1 + random.below(64)).min(bytes.len());
    match random.below(11) {
        0 | 1 => flip(bytes, at, random),
        2 => drop(bytes.drain(at..end)),
        3 => {
            let copy = bytes[at..end].to_vec();
            let to = random.below(bytes.len());
            bytes.splice(to..to, copy);
        }
        4 => bytes.truncate(at),
        5 => {
            let word = WORDS[random.below(WORDS.len())];
            bytes.splice(at..at, word.bytes());
        }
        6 => value(bytes, at, random),
        7 => number(bytes, at, random),
        8 => {
            let other = &all[random.below(all.len())];
            let from = random.below(other.len());
            let to = (from + random.below(2000)).min(other.len());
            let end = (at + random.below(2000)).min(bytes.len());
            bytes.splice(at..end, other[from..to].iter().copied());
        }
        9 => lines(bytes, random),
        _ => {
            let again = WORDS[random.below(WORDS.len())].repeat(1 + random.below(300));
            bytes.splice(at..at, again.bytes());
        }
    }
}

fn flip(bytes: &mut [u8], at: usize, random: &mut Random) {
    if let Some(byte) = bytes.get_mut(at) {
        *byte ^= 1 << random.below(8);
    }
}

/// Puts another value in the place of a JSON value.
fn value(bytes: &mut Vec<u8>, at: usize, random: &mut Random) {
    let Some(start) = bytes[at.min(bytes.len())..].iter().position(|b| *b == b':') else {
        return;
    };
    let start = at + start + 1;
    let length = bytes[start..]
        .iter()
        .position(|b| matches!(b, b',' | b'}' | b'\n'));
    let end = start + length.unwrap_or(0);
    let word = WORDS[random.below(20)];
    bytes.splice(start..end, word.bytes());
}

/// Changes a digit of a number: a reading, a sequence, a time.
fn number(bytes: &mut [u8], at: usize, random: &mut Random) {
    let digit = bytes.iter_mut().skip(at).find(|b| b.is_ascii_digit());
    if let Some(digit) = digit {
        *digit = b'0' + u8::try_from(random.below(10)).unwrap_or(0);
    }
}

/// Exchanges two lines.
fn lines(bytes: &mut Vec<u8>, random: &mut Random) {
    let mut all: Vec<Vec<u8>> = bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
    let (a, b) = (random.below(all.len()), random.below(all.len()));
    all.swap(a, b);
    *bytes = all.join(&b'\n');
}
