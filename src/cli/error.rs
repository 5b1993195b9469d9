//! Errors as a person reads them: what happened, where, what to do.

use std::error::Error;
use std::fmt;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done; for judging commands, every answer is good.
    Good = 0,
    /// A valid answer that is not good.
    NotGood = 1,
    /// No answer, or not done.
    NoAnswer = 2,
}

/// An error with its causes and what to do about it.
#[derive(Debug)]
pub struct Failure {
    what: Box<dyn Error + Send + Sync>,
    hints: Vec<String>,
}

impl Failure {
    /// Whether this only says that nobody reads the output any more.
    #[must_use]
    pub fn is_broken_pipe(&self) -> bool {
        let mut cause: Option<&(dyn Error + 'static)> = Some(&*self.what);
        while let Some(error) = cause {
            if error
                .downcast_ref::<std::io::Error>()
                .is_some_and(|e| e.kind() == std::io::ErrorKind::BrokenPipe)
            {
                return true;
            }
            cause = error.source();
        }
        false
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// The message and its causes, from the outermost.
    #[must_use]
    pub fn chain(&self) -> Vec<String> {
        let mut chain = vec![self.what.to_string()];
        let mut cause = self.what.source();
        while let Some(error) = cause {
            let text = error.to_string();
            // Transparent wrappers repeat their source's words.
            if chain.last() != Some(&text) {
                chain.push(text);
            }
            cause = error.source();
        }
        chain
    }

    /// What to do, one line each.
    #[must_use]
    pub fn hints(&self) -> &[String] {
        &self.hints
    }
}

impl<E: Into<Box<dyn Error + Send + Sync>>> From<E> for Failure {
    fn from(error: E) -> Self {
        Self {
            what: error.into(),
            hints: Vec::new(),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, text) in self.chain().iter().enumerate() {
            let word = if index == 0 { "error" } else { "caused by" };
            writeln!(f, "{word}: {}", text.trim_end())?;
        }
        for hint in &self.hints {
            writeln!(f, "hint: {hint}")?;
        }
        Ok(())
    }
}

/// Adds what to do to an error on its way up.
pub(crate) trait Hint<T> {
    /// The value, or the error with a hint.
    fn hint(self, hint: impl Into<String>) -> Result<T, Failure>;
}

impl<T, E: Into<Failure>> Hint<T> for Result<T, E> {
    fn hint(self, hint: impl Into<String>) -> Result<T, Failure> {
        self.map_err(|error| error.into().hint(hint))
    }
}
