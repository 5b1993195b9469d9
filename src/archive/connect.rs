//! A connection to the archive, with its errors in words.

use std::sync::Arc;
use std::time::Duration;

use postgres::config::SslMode;
use postgres::{Client, NoTls};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use rustls::{ClientConfig, RootCertStore};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::ArchiveError;
use super::error::chain;
use super::schema;
use super::target::{Protection, Target, is_socket};

/// How long to wait for a server that does not answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open connection to an archive.
pub struct Archive {
    pub(super) client: Client,
    place: String,
    role: String,
}

impl std::fmt::Debug for Archive {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Archive")
            .field("place", &self.place)
            .finish_non_exhaustive()
    }
}

impl Archive {
    /// Connects, and checks that there is an archive of this program's version.
    ///
    /// # Errors
    /// [`ArchiveError`]: no connection, no archive, or one of another version.
    pub fn open(target: &Target) -> Result<Self, ArchiveError> {
        let mut archive = Self::connect(target)?;
        match schema::version(&mut archive)? {
            None => Err(ArchiveError::NoArchive(archive.place)),
            Some(found) if found != schema::VERSION => Err(ArchiveError::Version {
                found,
                wanted: schema::VERSION,
            }),
            Some(_) => Ok(archive),
        }
    }

    /// Connects to the database, whatever is in it.
    ///
    /// # Errors
    /// [`ArchiveError::Connect`] or [`ArchiveError::Setting`].
    pub fn connect(target: &Target) -> Result<Self, ArchiveError> {
        let mut config = postgres::Config::new();
        config
            .user(&target.role)
            .dbname(&target.database)
            .port(target.port)
            .host(&target.host)
            .connect_timeout(PATIENCE)
            // A cut cable is noticed in a minute, not in hours.
            .keepalives_idle(Duration::from_secs(20))
            .keepalives_interval(Duration::from_secs(10))
            .keepalives_retries(3)
            .application_name("brakecorner");
        if let (Some(address), false) = (target.hostaddr, is_socket(&target.host)) {
            config.hostaddr(address);
        }
        if let Some(password) = target.password() {
            config.password(password);
        }
        let connected = match target.protection {
            Protection::Loopback => config.ssl_mode(SslMode::Disable).connect(NoTls),
            Protection::VerifyFull => config
                .ssl_mode(SslMode::Require)
                .connect(MakeRustlsConnect::new(tls(target)?)),
        };
        let client = connected.map_err(|error| refused(&error, target))?;
        Ok(Self {
            client,
            place: target.place(),
            role: target.role.clone(),
        })
    }

    /// Host, port and database.
    #[must_use]
    pub fn place(&self) -> &str {
        &self.place
    }

    /// The client itself, for questions of one's own.
    pub fn client(&mut self) -> &mut Client {
        &mut self.client
    }

    /// A client error in words.
    pub(super) fn words(&self, error: &postgres::Error) -> ArchiveError {
        ArchiveError::of(error, &self.place, &self.role)
    }

    /// The shop this role pushes for.
    ///
    /// # Errors
    /// [`ArchiveError::Permission`] if the role is nobody's.
    pub fn shop(&mut self) -> Result<String, ArchiveError> {
        let row = self
            .client
            .query_opt(
                "SELECT shop_id FROM brakecorner.member WHERE rolname = current_user",
                &[],
            )
            .map_err(|error| self.words(&error))?;
        match row {
            Some(row) => Ok(row.get(0)),
            None => Err(ArchiveError::Permission {
                role: self.role.clone(),
                why: "it is enrolled for no shop".to_owned(),
            }),
        }
    }
}

fn refused(error: &postgres::Error, target: &Target) -> ArchiveError {
    let code = error.as_db_error().map(|db| db.code().code().to_owned());
    let passing = match code.as_deref() {
        // Starting up, shutting down, too many connections.
        Some(code) => code.starts_with("57P") || code == "53300",
        None => !chain(error).contains("certificate"),
    };
    let mut why = error
        .as_db_error()
        .map_or_else(|| chain(error), |db| db.message().to_owned());
    if why.contains("unexpected message") || why.contains("invalid message") {
        why.push_str("; what answers there does not speak as PostgreSQL does");
    }
    ArchiveError::Connect {
        place: target.place(),
        why,
        passing,
    }
}

fn tls(target: &Target) -> Result<ClientConfig, ArchiveError> {
    let Some(path) = &target.root_certificates else {
        return Err(ArchiveError::Address(format!(
            "leads to `{}`, and no file names the certificates trusted to vouch for it; give sslrootcert=FILE, PGSSLROOTCERT or ~/.postgresql/root.crt",
            target.host.escape_debug()
        )));
    };
    let wrong = |what: String| ArchiveError::Setting {
        file: path.display().to_string(),
        what,
    };
    let mut roots = RootCertStore::empty();
    let certificates =
        CertificateDer::pem_file_iter(path).map_err(|error| wrong(error.to_string()))?;
    for certificate in certificates {
        let certificate = certificate.map_err(|error| wrong(error.to_string()))?;
        roots
            .add(certificate)
            .map_err(|error| wrong(error.to_string()))?;
    }
    if roots.is_empty() {
        return Err(wrong("there is no certificate in it".to_owned()));
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    Ok(ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .map_err(|error| wrong(error.to_string()))?
        .with_root_certificates(roots)
        .with_no_client_auth())
}
