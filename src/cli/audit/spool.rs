//! Puts any number of lines in order in bounded memory: sorted runs on the disk, then a merge.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::fs::File;
use std::io::{self, BufRead as _, BufReader, BufWriter, Seek as _, Write as _};

/// Most bytes of text kept in memory before a run goes to the disk.
const RUN: usize = 1 << 20;

/// Most runs open at once; so many are merged into one.
const MOST_RUNS: usize = 64;

/// Collects lines.
#[derive(Default)]
pub(super) struct Spool {
    lines: Vec<String>,
    bytes: usize,
    runs: Vec<File>,
}

impl Spool {
    /// Adds a line, which holds no line feed.
    pub(super) fn add(&mut self, line: String) -> io::Result<()> {
        self.bytes += line.len() + size_of::<String>();
        self.lines.push(line);
        if self.bytes >= RUN {
            self.flush()
        } else {
            Ok(())
        }
    }

    /// Writes the lines kept so far as a run, and all runs as one if they have become many.
    fn flush(&mut self) -> io::Result<()> {
        self.lines.sort_unstable();
        let mut run = Run::new()?;
        for line in self.lines.drain(..) {
            run.add(&line)?;
        }
        self.runs.push(run.done()?);
        self.bytes = 0;
        if self.runs.len() >= MOST_RUNS {
            let mut one = Run::new()?;
            merge(std::mem::take(&mut self.runs), |line| one.add(line))?;
            self.runs.push(one.done()?);
        }
        Ok(())
    }

    /// Hands every line over in order.
    pub(super) fn in_order(mut self, mut each: impl FnMut(&str)) -> io::Result<()> {
        if self.runs.is_empty() {
            self.lines.sort_unstable();
            self.lines.iter().for_each(|line| each(line));
            return Ok(());
        }
        self.flush()?;
        merge(self.runs, |line| {
            each(line);
            Ok(())
        })
    }
}

/// A sorted run on its way to the disk.
struct Run(BufWriter<File>);

impl Run {
    fn new() -> io::Result<Self> {
        // A file without a name: the system removes it whatever happens to this program.
        Ok(Self(BufWriter::new(tempfile::tempfile()?)))
    }

    fn add(&mut self, line: &str) -> io::Result<()> {
        self.0.write_all(line.as_bytes())?;
        self.0.write_all(b"\n")
    }

    fn done(self) -> io::Result<File> {
        let mut file = self
            .0
            .into_inner()
            .map_err(io::IntoInnerError::into_error)?;
        file.rewind()?;
        Ok(file)
    }
}

/// Hands the lines of sorted runs over in order.
fn merge(runs: Vec<File>, mut each: impl FnMut(&str) -> io::Result<()>) -> io::Result<()> {
    let mut runs: Vec<_> = runs
        .into_iter()
        .map(|run| BufReader::new(run).lines())
        .collect();
    let mut heap = BinaryHeap::new();
    for (index, run) in runs.iter_mut().enumerate() {
        if let Some(line) = run.next() {
            heap.push(Reverse((line?, index)));
        }
    }
    while let Some(Reverse((line, index))) = heap.pop() {
        each(&line)?;
        if let Some(next) = runs.get_mut(index).and_then(Iterator::next) {
            heap.push(Reverse((next?, index)));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_come_out_in_order_over_many_runs() {
        let mut spool = Spool::default();
        let mut expected = Vec::new();
        for n in 0..40_000u32 {
            let line = format!(
                "{:010} {}",
                n.wrapping_mul(2_654_435_761),
                "x".repeat(n as usize % 7)
            );
            expected.push(line.clone());
            spool.add(line).unwrap();
            if n % 500 == 499 {
                spool.flush().unwrap();
            }
        }
        expected.sort();
        let mut found = Vec::new();
        spool.in_order(|line| found.push(line.to_owned())).unwrap();
        assert_eq!(found, expected);
    }
}
