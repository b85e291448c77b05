//! A web server with nothing but `git http-backend` behind it, which can be told to fail.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// How it fails.
#[derive(Debug, Clone, Copy)]
pub(super) enum Fails {
    Never,
    /// Every answer ends after so many bytes.
    AfterBytes(usize),
    /// After so many requests it hangs up on everybody.
    AfterRequests(usize),
    /// No file can be written behind it.
    Full,
    /// It wants to know who asks.
    Unauthorized,
}

pub(super) struct Web {
    port: u16,
    over: Arc<AtomicBool>,
}

impl Web {
    /// Serves the repositories of a folder.
    pub(super) fn serve(folder: &Path, fails: Fails) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let over = Arc::new(AtomicBool::new(false));
        let (ended, folder) = (Arc::clone(&over), folder.to_owned());
        let requests = AtomicUsize::new(0);
        std::thread::spawn(move || {
            for stream in listener.incoming() {
                if ended.load(Ordering::SeqCst) {
                    return;
                }
                let number = requests.fetch_add(1, Ordering::SeqCst);
                if matches!(fails, Fails::AfterRequests(most) if number >= most) {
                    continue;
                }
                let (Ok(stream), folder) = (stream, folder.clone()) else { continue };
                std::thread::spawn(move || {
                    // A client that hangs up is no failure of the server's.
                    let _ = answer(&stream, &folder, fails);
                });
            }
        });
        Self { port, over }
    }

    pub(super) fn address(&self, repository: &str) -> String {
        format!("http://127.0.0.1:{}/{repository}", self.port)
    }
}

impl Drop for Web {
    fn drop(&mut self) {
        self.over.store(true, Ordering::SeqCst);
        // Wakes the server up, so that it sees it.
        let _ = TcpStream::connect(("127.0.0.1", self.port));
    }
}

fn body(reader: &mut impl BufRead, heads: &[(String, String)]) -> std::io::Result<Vec<u8>> {
    let head = |name: &str| heads.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone());
    let mut bytes = Vec::new();
    if head("transfer-encoding").is_some_and(|value| value == "chunked") {
        loop {
            let mut line = String::new();
            reader.read_line(&mut line)?;
            let size = usize::from_str_radix(line.trim(), 16).unwrap_or(0);
            let mut piece = vec![0; size];
            reader.read_exact(&mut piece)?;
            reader.read_line(&mut line)?;
            bytes.extend(piece);
            if size == 0 {
                return Ok(bytes);
            }
        }
    }
    let length = head("content-length").and_then(|value| value.parse().ok()).unwrap_or(0);
    bytes.resize(length, 0);
    reader.read_exact(&mut bytes)?;
    Ok(bytes)
}

fn answer(stream: &TcpStream, folder: &Path, fails: Fails) -> std::io::Result<()> {
    let mut reader = BufReader::new(stream.try_clone()?);
    let mut first = String::new();
    reader.read_line(&mut first)?;
    let mut words = first.split_whitespace();
    let (Some(method), Some(target)) = (words.next(), words.next()) else { return Ok(()) };
    let mut heads = Vec::new();
    loop {
        let mut line = String::new();
        reader.read_line(&mut line)?;
        let Some((name, value)) = line.trim().split_once(':') else { break };
        heads.push((name.to_lowercase(), value.trim().to_owned()));
    }
    let head = |name: &str| heads.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str());
    if head("expect").is_some() {
        (&*stream).write_all(b"HTTP/1.1 100 Continue\r\n\r\n")?;
    }
    let body = body(&mut reader, &heads)?;
    let mut out = stream;
    if matches!(fails, Fails::Unauthorized) {
        return out.write_all(b"HTTP/1.1 401 Unauthorized\r\nWWW-Authenticate: Basic realm=\"shop\"\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
    }
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    let limit = if matches!(fails, Fails::Full) { "ulimit -f 0; " } else { "" };
    let mut git = Command::new("sh");
    git.args(["-c", &format!("{limit}exec git -c http.receivepack=true http-backend")])
        .env("GIT_PROJECT_ROOT", folder)
        .env("GIT_HTTP_EXPORT_ALL", "1")
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("PATH_INFO", path)
        .env("QUERY_STRING", query)
        .env("REQUEST_METHOD", method)
        .env("REMOTE_ADDR", "127.0.0.1")
        .env("CONTENT_LENGTH", body.len().to_string())
        .env("CONTENT_TYPE", head("content-type").unwrap_or_default())
        .env("HTTP_CONTENT_ENCODING", head("content-encoding").unwrap_or_default())
        .env("GIT_PROTOCOL", head("git-protocol").unwrap_or_default());
    let mut child = git.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn()?;
    let mut paper = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || {
        // One that has seen enough closes the pipe.
        let _ = paper.write_all(&body);
    });
    let mut said = Vec::new();
    child.stdout.take().unwrap().read_to_end(&mut said)?;
    child.wait()?;
    writer.join().unwrap();
    let end = said.windows(4).position(|four| four == b"\r\n\r\n").unwrap_or(said.len());
    let heads = String::from_utf8_lossy(&said[..end]).into_owned();
    let content = said.get(end + 4..).unwrap_or_default();
    let status = heads
        .lines()
        .find_map(|line| line.strip_prefix("Status: "))
        .unwrap_or(if heads.is_empty() { "500 Internal Server Error" } else { "200 OK" });
    let other: Vec<&str> =
        heads.lines().filter(|line| !line.starts_with("Status: ") && !line.is_empty()).collect();
    let other = other.iter().map(|line| format!("{line}\r\n")).collect::<String>();
    write!(
        out,
        "HTTP/1.1 {status}\r\n{other}Content-Length: {}\r\nConnection: close\r\n\r\n",
        content.len()
    )?;
    match fails {
        Fails::AfterBytes(most) if content.len() > most => out.write_all(&content[..most]),
        _ => out.write_all(content),
    }
}
