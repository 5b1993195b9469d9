//! A long journal read in pieces at the same time.
//!
//! Every line names the digest of the line before it, and that digest follows from the bytes alone:
//! a piece can be read without waiting for the one before. What comes of it is exactly what reading
//! in order gives; pieces after the first damage are dropped.

use super::{Contents, Damage, Torn, read_in_order, sha256_hex};

/// Pieces smaller than this are not worth a thread.
const PIECE: usize = 512 * 1024;
/// More threads than this gain nothing: the fold after them runs alone.
const MOST: usize = 8;

pub(super) fn read_from(bytes: &[u8], last_seq: u64, head: &str) -> Contents {
    let threads = (bytes.len() / PIECE).min(MOST);
    if threads < 2 {
        return read_in_order(bytes, last_seq, head);
    }
    let threads = threads.min(std::thread::available_parallelism().map_or(1, usize::from));
    read_in_pieces(bytes, last_seq, head, threads)
}

/// One piece: whole lines, how many lines stand before it, and the line just before it.
struct Piece<'a> {
    offset: usize,
    lines_before: usize,
    before: Option<&'a [u8]>,
    bytes: &'a [u8],
}

fn read_in_pieces(bytes: &[u8], last_seq: u64, head: &str, pieces: usize) -> Contents {
    let pieces = cut(bytes, pieces.max(1));
    let read = |piece: &Piece<'_>| {
        let seq = last_seq + piece.lines_before as u64;
        match piece.before {
            None => read_in_order(piece.bytes, seq, head),
            Some(line) => read_in_order(piece.bytes, seq, &sha256_hex(line)),
        }
    };
    let Some((first, others)) = pieces.split_first() else {
        return read_in_order(bytes, last_seq, head);
    };
    let (mut contents, rest) = std::thread::scope(|scope| {
        let handles: Vec<_> = others
            .iter()
            .map(|piece| (piece, scope.spawn(|| read(piece))))
            .collect();
        let first = read(first);
        let rest: Vec<_> = handles
            .into_iter()
            // A thread the system did not let finish: its piece is read here.
            .map(|(piece, handle)| (piece, handle.join().unwrap_or_else(|_| read(piece))))
            .collect();
        (first, rest)
    });
    for (piece, next) in rest {
        let whole = contents.damage.is_none() && contents.torn.is_none();
        if !whole || contents.good_len != piece.offset {
            break;
        }
        contents.entries.extend(next.entries);
        contents.good_len = piece.offset + next.good_len;
        contents.head = next.head;
        contents.missing_line_feed = next.missing_line_feed;
        contents.torn = next.torn.map(|torn| Torn {
            offset: torn.offset + piece.offset,
            ..torn
        });
        contents.damage = next.damage.map(|damage| Damage {
            line: damage.line + piece.lines_before,
            offset: damage.offset + piece.offset,
            ..damage
        });
    }
    contents
}

/// Cuts at line ends, into at most so many pieces.
fn cut(bytes: &[u8], pieces: usize) -> Vec<Piece<'_>> {
    let mut cuts = vec![0];
    for n in 1..pieces {
        let wanted = bytes.len() / pieces * n;
        let line_end = bytes.get(wanted..).and_then(|rest| {
            let end = rest.iter().position(|byte| *byte == b'\n')?;
            Some(wanted + end + 1)
        });
        if let Some(end) = line_end
            && end < bytes.len()
            && cuts.last().is_some_and(|last| *last < end)
        {
            cuts.push(end);
        }
    }
    let ends = cuts.iter().skip(1).copied().chain([bytes.len()]);
    let mut lines_before = 0;
    let mut made: Vec<Piece<'_>> = Vec::with_capacity(cuts.len());
    for (offset, end) in cuts.iter().copied().zip(ends) {
        let (Some(earlier), Some(here)) = (bytes.get(..offset), bytes.get(offset..end)) else {
            continue;
        };
        let before = earlier.strip_suffix(b"\n").map(|earlier| {
            let begin = earlier.iter().rposition(|byte| *byte == b'\n');
            earlier
                .get(begin.map_or(0, |at| at + 1)..)
                .unwrap_or_default()
        });
        made.push(Piece {
            offset,
            lines_before,
            before,
            bytes: here,
        });
        lines_before += here.iter().filter(|byte| **byte == b'\n').count();
    }
    made
}

#[cfg(test)]
mod tests {
    use super::super::GENESIS;
    use super::super::tests::journal_of;
    use super::*;

    #[test]
    fn pieces_give_what_reading_in_order_gives_for_every_cut_and_every_damage() {
        let whole = journal_of(40);
        let step = whole.len() / 97;
        for pieces in [1, 2, 3, 7, 40, 100] {
            let same = |bytes: &[u8], what: &str| {
                let one = read_in_order(bytes, 0, GENESIS);
                assert_eq!(
                    read_in_pieces(bytes, 0, GENESIS, pieces),
                    one,
                    "{what} {pieces}"
                );
            };
            same(&whole, "whole");
            same(&[], "empty");
            for at in (0..whole.len()).step_by(step.max(1)) {
                same(&whole[..at], "cut");
                let mut flipped = whole.clone();
                flipped[at] ^= 4;
                same(&flipped, "flipped");
                flipped[at] = b'\n';
                same(&flipped, "broken");
            }
        }
    }
}
