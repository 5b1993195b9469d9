//! Options that are only put together when their command is the one called.
//!
//! The program has several hundred options; building them all costs more than answering a check at
//! the bench.

use clap::{ArgMatches, Args, Command, Error, FromArgMatches};

/// Arguments whose definition waits until they are needed.
#[derive(Debug)]
pub(in crate::cli) struct Lazy<T>(pub(in crate::cli) T);

impl<T: Args> Args for Lazy<T> {
    fn augment_args(command: Command) -> Command {
        command.defer(T::augment_args)
    }

    fn augment_args_for_update(command: Command) -> Command {
        command.defer(T::augment_args_for_update)
    }
}

impl<T: FromArgMatches> FromArgMatches for Lazy<T> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        T::from_arg_matches(matches).map(Self)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        self.0.update_from_arg_matches(matches)
    }
}
