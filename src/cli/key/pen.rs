//! What a person signs with: a key file, or a key that an ssh-agent holds.

use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use ssh_key::PrivateKey;

use super::super::World;
use super::super::error::{Failure, Hint as _};
use super::key_name;
use crate::record::agent::{self, AgentKey};
use crate::record::key::SignerKey;
use crate::record::signers::Signers;
use crate::record::sshsig;
use crate::shop::agent_socket;
use crate::shop::keys::{KeyError, KeyFolder};

/// What a person signs with.
pub(crate) enum Pen {
    /// A key file, unlocked.
    File(Box<PrivateKey>, SignerKey),
    /// A key in the agent behind this socket.
    Agent(SignerKey, PathBuf),
}

impl Pen {
    /// Takes up a person's key: its file, or the agent that holds it.
    ///
    /// A file that needs a passphrase nobody gave is left to the agent, if that holds the key.
    pub(crate) fn of(world: &World<'_>, by: &str) -> Result<Self, Failure> {
        let keys = KeyFolder::new(&world.config_folder());
        let name = key_name(by);
        let passphrase = world.var("BRAKECORNER_PASSPHRASE");
        match keys.load(&name, passphrase) {
            Ok(key) => {
                let public = SignerKey::try_from(key.public_key())?;
                Ok(Self::File(Box::new(key), public))
            }
            Err(error @ (KeyError::Unknown { .. } | KeyError::Locked { .. })) => {
                let Ok(public) = keys.public(&name) else {
                    return Err(Failure::from(error)
                        .hint(format!("make one with `brakecorner key new --by \"{by}\"`")));
                };
                Self::from_agent(world, SignerKey::try_from(&public)?).map_err(|failure| {
                    failure.hint(
                        "put the key into your agent with `ssh-add`, or give a locked key's passphrase in BRAKECORNER_PASSPHRASE",
                    )
                })
            }
            Err(error) => Err(error.into()),
        }
    }

    fn from_agent(world: &World<'_>, key: SignerKey) -> Result<Self, Failure> {
        let socket = socket(world)?;
        let held = held(&socket)?;
        if held.iter().any(|one| one.key == key) {
            Ok(Self::Agent(key, socket))
        } else {
            Err(Failure::from(format!(
                "the ssh-agent does not hold key {}",
                key.fingerprint()
            )))
        }
    }

    /// The public half.
    pub(crate) const fn public(&self) -> &SignerKey {
        match self {
            Self::File(_, public) | Self::Agent(public, _) => public,
        }
    }

    /// Refuses a key that may not sign now: unknown, expired, revoked, for another purpose.
    pub(crate) fn may_sign(
        &self,
        by: &str,
        signers: Option<&Signers>,
        namespace: &str,
        now: DateTime<FixedOffset>,
    ) -> Result<(), Failure> {
        let Some(signers) = signers else {
            return Err(
                Failure::from("the workshop has no signers file: nobody may sign").hint(format!(
                    "let the key sign with `brakecorner key trust FILE.pub --name \"{by}\"`"
                )),
            );
        };
        signers
            .find(by, self.public(), namespace, now.to_utc())
            .hint(format!(
                "`brakecorner key list --signers` shows who may sign; `brakecorner key trust FILE.pub --name \"{by}\"` lets a key sign"
            ))?;
        Ok(())
    }

    /// Signs bytes for a purpose and checks what came of it.
    pub(crate) fn sign(&self, bytes: &[u8], namespace: &str) -> Result<String, Failure> {
        match self {
            Self::File(key, _) => Ok(sshsig::sign(bytes, namespace, key)?),
            Self::Agent(key, socket) => {
                let mut stream = agent_socket::connect(socket)?;
                Ok(agent::sign(&mut stream, key, bytes, namespace).hint(
                    "the agent may ask for your consent; say yes there and repeat the command",
                )?)
            }
        }
    }
}

/// Where the agent listens.
pub(super) fn socket(world: &World<'_>) -> Result<PathBuf, Failure> {
    match world.var("SSH_AUTH_SOCK") {
        Some(path) => Ok(PathBuf::from(path)),
        None => Err(
            Failure::from("no ssh-agent is running: SSH_AUTH_SOCK is not set")
                .hint("start one with `eval $(ssh-agent)` and add the key with `ssh-add FILE`"),
        ),
    }
}

/// The Ed25519 keys an agent holds.
pub(super) fn held(socket: &Path) -> Result<Vec<AgentKey>, Failure> {
    let mut stream = agent_socket::connect(socket)?;
    Ok(agent::identities(&mut stream)?.keys)
}
