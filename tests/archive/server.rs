//! A PostgreSQL server of a test's own: private port and folder, stopped when its owner goes,
//! however it goes.

use std::io::Write as _;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use postgres::{Client, NoTls};

/// The role that owns everything on a test's server.
pub const OWNER: &str = "owner";
/// The password of every other role.
pub const PASSWORD: &str = "only-for-tests";

/// Keeps the server until its input ends: when the test's process goes, even killed, the server is
/// stopped and its folder removed.
const KEEPER: &str = r#"
bin="$1" folder="$2" limit="$3"
[ -z "$limit" ] || ulimit -f "$limit"
start() { "$bin/postgres" -D "$folder/data" >>"$folder/log" 2>&1 & pid=$!; }
start
while read -r word; do
    case "$word" in
        kill)
            children="$(pgrep -P $pid)"
            kill -9 $pid $children 2>/dev/null
            wait $pid 2>/dev/null
            for child in $children; do
                while kill -0 $child 2>/dev/null; do sleep 0.01; done
            done ;;
        stop) kill -INT $pid; wait $pid ;;
        start) start ;;
    esac
    echo "$word"
done
kill -INT $pid 2>/dev/null && wait $pid
rm -rf "$folder"
"#;

pub struct Server {
    keeper: Child,
    answers: std::io::BufReader<std::process::ChildStdout>,
    pub port: u16,
    folder: PathBuf,
}

fn bin() -> PathBuf {
    let mut found: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path().join("bin"))
        .filter(|bin| bin.join("initdb").is_file())
        .collect();
    found.sort();
    found.pop().unwrap_or_else(|| {
        let out = Command::new("pg_config").arg("--bindir").output();
        let out = out.unwrap_or_else(|_| panic!("PostgreSQL is not installed: see tests/run"));
        PathBuf::from(String::from_utf8(out.stdout).unwrap().trim())
    })
}

/// A command as somebody the server is willing to run as: it refuses to run as root.
fn unprivileged() -> Command {
    let id = Command::new("id").arg("-u").output().unwrap().stdout;
    if id.trim_ascii() != b"0" {
        return Command::new("env");
    }
    let known = Command::new("id")
        .arg("postgres")
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    let user = if known.unwrap().success() {
        "postgres"
    } else {
        "nobody"
    };
    let mut command = Command::new("setpriv");
    command.args(["--reuid", user, "--regid"]);
    let group = Command::new("id")
        .args(["-g", user])
        .output()
        .unwrap()
        .stdout;
    command.arg(std::str::from_utf8(&group).unwrap().trim());
    command.args(["--clear-groups", "--"]);
    command
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port()
}

/// Appends to a file as the server's user.
pub fn write(path: &Path, text: &str) {
    let mut append = unprivileged()
        .args(["tee", "-a"])
        .arg(path)
        .current_dir("/tmp")
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    append
        .stdin
        .take()
        .unwrap()
        .write_all(text.as_bytes())
        .unwrap();
    assert!(append.wait().unwrap().success());
}

impl Server {
    pub fn start() -> Self {
        Self::with(&[], &[], "")
    }

    /// With further options of initdb, lines of the configuration, and a limit on the size of its
    /// files in blocks of 512 bytes.
    pub fn with(initdb: &[&str], config: &[&str], limit: &str) -> Self {
        let (bin, port) = (bin(), free_port());
        let made = unprivileged()
            .args(["mktemp", "-d", "-t", "archive-test-XXXXXXXX"])
            .current_dir("/tmp")
            .output()
            .unwrap();
        assert!(made.status.success(), "{made:?}");
        let folder = PathBuf::from(String::from_utf8(made.stdout).unwrap().trim());
        let data = folder.join("data");
        let secret = folder.join("secret");
        write(&secret, PASSWORD);
        let init = unprivileged()
            .arg(bin.join("initdb"))
            .args([
                "-U",
                OWNER,
                "-A",
                "scram-sha-256",
                "-E",
                "UTF8",
                "--no-sync",
            ])
            .args(["--locale", "C.UTF-8", "-D"])
            .arg(&data)
            .arg("--pwfile")
            .arg(&secret)
            .args(initdb)
            .current_dir("/tmp")
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert!(
            init.status.success(),
            "{}",
            String::from_utf8_lossy(&init.stderr)
        );
        let mut lines = format!(
            "\nport={port}\nlisten_addresses='127.0.0.1'\nunix_socket_directories=''\nfsync=off\nsynchronous_commit=off\nfull_page_writes=off\nmax_connections=120\nshared_buffers=64MB\nenable_partitionwise_join=on\nenable_partitionwise_aggregate=on\n"
        );
        for line in config {
            lines.push_str(line);
            lines.push('\n');
        }
        write(&data.join("postgresql.conf"), &lines);
        let mut keeper = unprivileged()
            .args(["sh", "-c", KEEPER, "keeper"])
            .arg(&bin)
            .arg(&folder)
            .arg(limit)
            .current_dir("/tmp")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let answers = std::io::BufReader::new(keeper.stdout.take().unwrap());
        let server = Self {
            keeper,
            answers,
            port,
            folder,
        };
        server.wait_ready();
        server
    }

    /// The server's folder, readable by who runs it.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Lets nobody but the server's user read a file below its folder.
    pub fn restrict(&self, below: &str) {
        let done = unprivileged()
            .args(["chmod", "600"])
            .arg(self.folder.join(below))
            .status();
        assert!(done.unwrap().success());
    }

    pub fn wait_ready(&self) {
        let since = Instant::now();
        loop {
            match self.try_admin("postgres") {
                Ok(_) => return,
                Err(error) => assert!(
                    since.elapsed() < Duration::from_secs(60),
                    "{error}: {}",
                    std::fs::read_to_string(self.folder.join("log")).unwrap_or_default()
                ),
            }
            std::thread::sleep(Duration::from_millis(30));
        }
    }

    fn tell(&mut self, word: &str) {
        use std::io::BufRead as _;
        writeln!(self.keeper.stdin.as_mut().unwrap(), "{word}").unwrap();
        let mut line = String::new();
        self.answers.read_line(&mut line).unwrap();
        assert_eq!(line.trim(), word);
    }

    /// Kills it in the middle of whatever it does.
    pub fn kill(&mut self) {
        self.tell("kill");
    }

    pub fn stop(&mut self) {
        self.tell("stop");
    }

    pub fn start_again(&mut self) {
        self.tell("start");
    }

    fn try_admin(&self, database: &str) -> Result<Client, postgres::Error> {
        postgres::Config::new()
            .host("127.0.0.1")
            .port(self.port)
            .user(OWNER)
            .password(PASSWORD)
            .dbname(database)
            .connect(NoTls)
    }

    /// A connection as the owner.
    pub fn admin(&self, database: &str) -> Client {
        self.try_admin(database).unwrap()
    }

    /// A connection as a role.
    pub fn client(&self, role: &str, database: &str) -> Client {
        postgres::Config::new()
            .host("127.0.0.1")
            .port(self.port)
            .user(role)
            .password(PASSWORD)
            .dbname(database)
            .connect(NoTls)
            .unwrap()
    }

    pub fn url(&self, role: &str, database: &str) -> String {
        format!("postgres://{role}@127.0.0.1:{}/{database}", self.port)
    }

    /// An empty database of this name.
    pub fn database(&self, name: &str) {
        self.admin("postgres")
            .batch_execute(&format!("CREATE DATABASE \"{name}\""))
            .unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Its input ends, so it stops the server and goes.
        drop(self.keeper.stdin.take());
        let _ = self.keeper.wait();
    }
}
