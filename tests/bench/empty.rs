//! A program that does nothing: what starting any Rust program costs.

fn main() {}
