//! The throw-away server that all test processes share.

use std::fs::File;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};
use store::Address;

/// The variable in which a whole run names the directory of its server's socket.
const PROVIDED: &str = "OSTLER_TEST_POSTGRES";
/// How long a busy machine may take to start a server.
const PATIENCE: Duration = Duration::from_mins(1);

/// A running server.
#[derive(Debug)]
pub struct Cluster {
    /// Where its socket is, its data, and the file that says where its programs are.
    socket_directory: PathBuf,
    programs: PathBuf,
    /// A shared lock held as long as this process lives: the server ends when nobody holds one.
    _in_use: Option<File>,
}

impl Cluster {
    /// The server of this run, started if it is not there.
    pub fn shared() -> &'static Self {
        static SHARED: OnceLock<Cluster> = OnceLock::new();
        SHARED.get_or_init(|| match std::env::var_os(PROVIDED) {
            Some(directory) => Self::at(directory.into(), None),
            None => Self::join_or_start(),
        })
    }

    fn at(socket_directory: PathBuf, in_use: Option<File>) -> Self {
        let programs = std::fs::read_to_string(socket_directory.join("programs")).unwrap_or_else(|cause| {
            panic!("no PostgreSQL server for tests in {}: {cause}", socket_directory.display())
        });
        Self { socket_directory, programs: programs.trim().into(), _in_use: in_use }
    }

    fn join_or_start() -> Self {
        let user = std::fs::metadata("/proc/self").expect("Linux shows each process in /proc").uid();
        // Short, because the path of a socket may have no more than 107 bytes.
        let directory = PathBuf::from(format!("/tmp/ostler-pg-{user}"));
        let _door = lock_door(&directory);
        let in_use = open(&directory.join("users"));
        in_use.lock_shared().expect("a lock on the list of users");
        if !is_watched(&directory) || !is_ready(&directory) {
            start(&directory);
        }
        Self::at(directory.join("server"), Some(in_use))
    }

    /// Does something once for this server, whichever process comes first; the others wait.
    pub fn once(&self, what: &str, act: impl FnOnce()) {
        let lock = open(&self.socket_directory.join("once"));
        lock.lock().expect("a lock on the server's preparation");
        let done = self.socket_directory.join(what);
        if !done.exists() {
            act();
            std::fs::write(done, "").expect("a note that the server is prepared");
        }
    }

    /// The address of a database for a user.
    pub fn address(&self, database: &str, user: &str) -> Address {
        let host = self.socket_directory.display().to_string().replace('/', "%2F");
        format!("postgres://{user}@{host}/{database}").parse().expect("a URL made of plain words")
    }

    /// Runs one of PostgreSQL's programs as its superuser; what it printed.
    pub fn run(&self, program: &str, arguments: &[&str]) -> String {
        self.try_run(program, arguments)
            .unwrap_or_else(|problem| panic!("{program} {arguments:?}: {problem}"))
    }

    /// Like [`Cluster::run`]; an error holds what it complained of.
    pub fn try_run(&self, program: &str, arguments: &[&str]) -> Result<String, String> {
        let run = Command::new(self.programs.join(program))
            .args(["--host", &self.socket_directory.display().to_string(), "--username", "postgres"])
            .args(arguments)
            .output()
            .map_err(|cause| cause.to_string())?;
        if run.status.success() {
            Ok(String::from_utf8_lossy(&run.stdout).trim().to_owned())
        } else {
            Err(String::from_utf8_lossy(&run.stderr).trim().to_owned())
        }
    }
}

/// Locks the door of the server's directory, made if missing. The watcher removes the directory behind a locked door:
/// who waited for it meanwhile holds a door that leads nowhere, and tries again.
fn lock_door(directory: &Path) -> File {
    loop {
        std::fs::create_dir_all(directory).expect("a directory for the test server");
        let path = directory.join("door");
        let Ok(door) = File::options().create(true).append(true).open(&path) else { continue };
        door.lock().expect("a lock on the server's door");
        let inode = door.metadata().expect("an open file has metadata").ino();
        if std::fs::metadata(&path).is_ok_and(|there| there.ino() == inode) {
            return door;
        }
    }
}

fn open(path: &Path) -> File {
    File::options()
        .create(true)
        .append(true)
        .open(path)
        .unwrap_or_else(|cause| panic!("{} cannot be opened: {cause}", path.display()))
}

/// Whether the process whose id begins the file is there and its command says `word`: a note outlives a process that
/// was killed, and its id may be another's by now.
fn is_alive(note: &Path, word: &str) -> bool {
    std::fs::read_to_string(note)
        .ok()
        .and_then(|text| text.lines().next()?.trim().parse::<u32>().ok())
        .and_then(|id| std::fs::read(format!("/proc/{id}/cmdline")).ok())
        .is_some_and(|command| String::from_utf8_lossy(&command).contains(word))
}

fn is_watched(directory: &Path) -> bool {
    is_alive(&directory.join("watcher"), "cluster.sh")
}

/// Whether the server takes connections: line 8 of its own note says so.
fn is_ready(directory: &Path) -> bool {
    let note = directory.join("server/data/postmaster.pid");
    is_alive(&note, "postgres")
        && std::fs::read_to_string(&note)
            .is_ok_and(|text| text.lines().nth(7).is_some_and(|line| line.trim() == "ready"))
}

/// Starts a watcher, which starts the server unless one is left over from a watcher that was killed.
#[expect(clippy::zombie_processes, reason = "the watcher outlives this process on purpose")]
fn start(directory: &Path) {
    if !is_ready(directory) {
        // What is left of a server that was killed.
        let _ = std::fs::remove_dir_all(directory.join("server"));
    }
    let mut watcher = spawn_watcher(directory, &directory.join("log"));
    let began = Instant::now();
    while !is_ready(directory) || !is_watched(directory) {
        let ended = watcher.try_wait().expect("the watcher is a child of this process");
        if ended.is_some() || began.elapsed() > PATIENCE {
            give_up(directory, ended);
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Leaves nothing behind but the reason.
fn give_up(directory: &Path, ended: Option<ExitStatus>) -> ! {
    let log = std::fs::read_to_string(directory.join("log")).unwrap_or_default();
    if ended.is_some() {
        let aside = directory.with_extension(std::process::id().to_string());
        let _ = std::fs::rename(directory, &aside).and_then(|()| std::fs::remove_dir_all(&aside));
    }
    panic!("PostgreSQL, which these tests need, did not start ({ended:?}):\n{log}");
}

/// In a session of its own, with no hold on this process's terminal or output: it must outlive the test that needed it
/// first without keeping anybody waiting.
fn spawn_watcher(directory: &Path, log: &Path) -> Child {
    let output = File::create(log).expect("a log for the test server");
    Command::new("setsid")
        .args(["sh", "-c", include_str!("../cluster.sh"), "cluster.sh", "keep"])
        .arg(directory)
        .stdin(Stdio::null())
        .stdout(output.try_clone().expect("an open file can be shared"))
        .stderr(output)
        .spawn()
        .expect("`setsid` and `sh` belong to every Linux")
}
