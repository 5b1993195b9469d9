//! What can go wrong with the archive, in words, and what to do.

use postgres::error::SqlState;

/// Why the archive did not do what was asked.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ArchiveError {
    /// The address cannot be read, or asks for what is refused.
    #[error("the archive's address {0}")]
    Address(String),
    /// A file of the connection's settings cannot be used.
    #[error("`{file}`: {what}")]
    Setting {
        /// The file.
        file: String,
        /// What is wrong.
        what: String,
    },
    /// No connection came about.
    #[error("no connection to {place}: {why}")]
    Connect {
        /// Host, port and database.
        place: String,
        /// The reason.
        why: String,
        /// Whether the same may work a little later.
        passing: bool,
    },
    /// The connection was lost, or the server stopped.
    #[error("the connection to the archive was lost: {0}")]
    Lost(String),
    /// There is no archive in the database.
    #[error("there is no archive in {0}")]
    NoArchive(String),
    /// The archive's tables are of another version.
    #[error("the archive's tables are of version {found}, this program uses version {wanted}")]
    Version {
        /// The archive's.
        found: i32,
        /// This program's.
        wanted: i32,
    },
    /// The role may not do this.
    #[error("the role `{role}` may not do this: {why}")]
    Permission {
        /// The role.
        role: String,
        /// What the server said.
        why: String,
    },
    /// The server has no room left.
    #[error("the archive's server has no room left: {0}")]
    DiskFull(String),
    /// The shop's rows are held by another server.
    #[error("this server does not hold the rows of shop `{0}`")]
    WrongServer(String),
    /// A server behind the head office's cannot be asked.
    #[error("a server of the archive cannot be asked: {why}; missing are {missing}")]
    PartMissing {
        /// What the server said.
        why: String,
        /// What is missing from every answer.
        missing: String,
    },
    /// Another computer of the same shop was faster; the same again will do.
    #[error("another computer pushed the same vehicle at the same moment")]
    Raced,
    /// What is stored cannot be read.
    #[error("stored row of {place} cannot be read: {why}")]
    Stored {
        /// Shop and job.
        place: String,
        /// The reason.
        why: String,
    },
    /// Anything else the server said.
    #[error("the archive's server says: {0}")]
    Server(String),
}

impl ArchiveError {
    /// Puts a client error into words; `place` and `role` say where and as whom.
    #[must_use]
    pub fn of(error: &postgres::Error, place: &str, role: &str) -> Self {
        let Some(db) = error.as_db_error() else {
            let why = chain(error);
            return if error.is_closed() || has_io(error) {
                Self::Lost(why)
            } else {
                Self::Server(why)
            };
        };
        let said = db.message().to_owned();
        let code = db.code();
        let lost = [
            SqlState::ADMIN_SHUTDOWN,
            SqlState::CRASH_SHUTDOWN,
            SqlState::CANNOT_CONNECT_NOW,
            SqlState::CONNECTION_FAILURE,
            SqlState::CONNECTION_EXCEPTION,
            SqlState::CONNECTION_DOES_NOT_EXIST,
            SqlState::TOO_MANY_CONNECTIONS,
        ];
        let again = [
            SqlState::T_R_SERIALIZATION_FAILURE,
            SqlState::T_R_DEADLOCK_DETECTED,
        ];
        if again.contains(code) {
            Self::Raced
        } else if lost.contains(code) {
            Self::Lost(said)
        } else if *code == SqlState::SQLCLIENT_UNABLE_TO_ESTABLISH_SQLCONNECTION
            || code.code().starts_with("HV")
        {
            Self::PartMissing {
                why: said,
                missing: "the shops it holds".to_owned(),
            }
        } else if *code == SqlState::DISK_FULL
            || said.contains("No space left on device")
            || said.contains("could not extend file")
        {
            Self::DiskFull(said)
        } else if *code == SqlState::INSUFFICIENT_PRIVILEGE {
            Self::Permission {
                role: role.to_owned(),
                why: said,
            }
        } else if [SqlState::UNDEFINED_TABLE, SqlState::INVALID_SCHEMA_NAME].contains(code) {
            Self::NoArchive(place.to_owned())
        } else if said.starts_with("no partition of relation") {
            Self::WrongServer("?".to_owned())
        } else {
            // The detail would name values of a row; only the message is shown.
            Self::Server(format!("{said} ({})", code.code()))
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Address(_) => "an address looks like postgres://ROLE@HOST:5432/DATABASE",
            Self::Setting { .. } => "correct the file, or name another in the address",
            Self::Connect { passing: true, .. } | Self::Lost(_) | Self::Raced => {
                "nothing is lost and nothing is stored twice: give the same command again"
            }
            Self::Connect { .. } => {
                "check role, database and password (PGPASSWORD, ~/.pgpass or a service file); is this the archive's server?"
            }
            Self::NoArchive(_) => {
                "is this the right server and database? its owner makes one with `brakecorner archive init --to URL`"
            }
            Self::Version { found, wanted } if found < wanted => {
                "the archive's owner brings it forward with `brakecorner archive init --to URL`"
            }
            Self::Version { .. } => {
                "use the newer version of this program that the archive is made for"
            }
            Self::Permission { .. } => {
                "the archive's owner enrols a shop's role with `brakecorner archive init --to URL --enrol ID --role ROLE`, head office's with `--office ROLE`"
            }
            Self::DiskFull(_) => {
                "make room on the server, then push again: the workshop's folder holds everything"
            }
            Self::WrongServer(_) => "push to the server that holds this shop's rows",
            Self::PartMissing { .. } => {
                "start that server again; shops of the other servers can still push"
            }
            Self::Stored { .. } => "`brakecorner archive audit` finds what is damaged",
            Self::Server(_) => "the server's log says more",
        }
    }

    /// Whether the same, tried again a little later, may work.
    #[must_use]
    pub const fn passing(&self) -> bool {
        matches!(
            self,
            Self::Lost(_) | Self::Raced | Self::Connect { passing: true, .. }
        )
    }
}

fn has_io(error: &(dyn std::error::Error + 'static)) -> bool {
    let mut cause = Some(error);
    while let Some(error) = cause {
        if error.is::<std::io::Error>() {
            return true;
        }
        cause = error.source();
    }
    false
}

/// An error with its causes, in one line.
pub(super) fn chain(error: &(dyn std::error::Error + 'static)) -> String {
    let mut words = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        let text = error.to_string();
        if !words.ends_with(&text) {
            words.push_str(": ");
            words.push_str(&text);
        }
        cause = error.source();
    }
    words
}
