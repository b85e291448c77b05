//! A real `sshd` on this machine, with keys of the test's own.

use std::fs;
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::common::Shed;

pub(super) struct Sshd {
    child: Child,
    folder: PathBuf,
    port: u16,
    user: String,
}

impl Sshd {
    /// Starts it; none where this machine has none, which is no excuse where everything is installed (`CI`).
    pub(super) fn start(shed: &Shed) -> Option<Self> {
        let program = Path::new("/usr/sbin/sshd");
        if !program.exists() {
            assert!(std::env::var("CI").is_err(), "openssh-server is missing");
            return None;
        }
        let folder = shed.above().join("ssh");
        fs::create_dir(&folder).unwrap();
        for key in ["host", "user"] {
            let made = Command::new("ssh-keygen")
                .args(["-q", "-t", "ed25519", "-N", "", "-f"])
                .arg(folder.join(key))
                .status()
                .unwrap();
            assert!(made.success());
        }
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let user = String::from_utf8(Command::new("id").arg("-un").output().unwrap().stdout).unwrap();
        let at = folder.display();
        let settings = format!(
            "Port {port}\nListenAddress 127.0.0.1\nHostKey {at}/host\nAuthorizedKeysFile {at}/let_in\nPidFile none\nStrictModes no\nUsePAM no\nPasswordAuthentication no\nKbdInteractiveAuthentication no\nPermitRootLogin prohibit-password\nSetEnv GIT_CONFIG_NOSYSTEM=1 GIT_CONFIG_COUNT=1 GIT_CONFIG_KEY_0=safe.directory GIT_CONFIG_VALUE_0=*\n"
        );
        fs::write(folder.join("sshd_config"), settings).unwrap();
        if user.trim() == "root" {
            // Where it locks itself in.
            fs::create_dir_all("/run/sshd").unwrap();
        }
        let child = Command::new(program)
            .args(["-D", "-e", "-f"])
            .arg(folder.join("sshd_config"))
            .stderr(Stdio::from(fs::File::create(folder.join("log")).unwrap()))
            .spawn()
            .unwrap();
        let sshd = Self { child, folder, port, user: user.trim().to_owned() };
        sshd.let_in("");
        sshd.wait();
        sshd.tell_git(shed);
        Some(sshd)
    }

    fn wait(&self) {
        for _ in 0..200 {
            if TcpStream::connect(("127.0.0.1", self.port)).is_ok() {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("sshd does not come up: {}", fs::read_to_string(self.folder.join("log")).unwrap());
    }

    /// The user's own git says which ssh, as a user's may.
    fn tell_git(&self, shed: &Shed) {
        let at = self.folder.display();
        let settings = shed.above().join("home/.gitconfig");
        let text = fs::read_to_string(&settings).unwrap();
        let ssh = format!(
            "ssh -F /dev/null -i {at}/user -o IdentitiesOnly=yes -o StrictHostKeyChecking=accept-new -o UserKnownHostsFile={at}/known -o BatchMode=yes"
        );
        fs::write(&settings, format!("{text}[core]\n\tsshCommand = {ssh}\n")).unwrap();
    }

    /// Lets the user's key in, with what stands before a key in such a list.
    pub(super) fn let_in(&self, options: &str) {
        let key = fs::read_to_string(self.folder.join("user.pub")).unwrap();
        fs::write(self.folder.join("let_in"), format!("{options}{key}")).unwrap();
    }

    pub(super) fn let_nobody_in(&self) {
        fs::write(self.folder.join("let_in"), "").unwrap();
    }

    pub(super) fn address(&self, repository: &Path) -> String {
        format!("ssh://{}@127.0.0.1:{}{}", self.user, self.port, repository.display())
    }
}

impl Drop for Sshd {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
