//! The server over real sockets: who is let in, what is too large, what takes too long, and how it ends.

use std::fmt::Write as _;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use boxproof_core::app::{Notebook, Refusal, Sent};
use boxproof_core::screen::{FileOut, Screen};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::{Options, Screens, Server};

/// A folder's notebook, served by the same routes as everything here.
#[tokio::test]
async fn the_notebook_itself_is_served() {
    let folder = tempfile::tempdir().unwrap();
    let seed = crate::outside::secret(folder.path()).unwrap();
    let outside = Arc::new(crate::outside::Machine::new().unwrap());
    let notebook = Arc::new(Notebook::open(folder.path(), seed, outside).unwrap());
    let page = Running::serve(Arc::clone(&notebook) as Arc<dyn Screens>, Arc::default()).await;
    let (cookie, own) = (page.cookie().await, page.origin());
    let headers = [("Cookie", cookie.as_str()), ("Origin", own.as_str()), ("Content-Type", "application/json")];
    let event = br#"{"token":"site name=?","input":"Lantern Lane <b>","drawn":0}"#;
    assert_eq!(status(&page.ask("POST", "/send", &headers, event).await), "200");
    assert_eq!(notebook.sites().unwrap().len(), 1);
    let first = page.ask("GET", "/", &headers, b"").await;
    assert!(first.contains("Lantern Lane &lt;b&gt;"), "{first}");
    let nowhere = page.ask("GET", "/screen?at=nowhere", &headers, b"").await;
    assert!(nowhere.contains("id=\"refusal\""), "{nowhere}");
    page.end().await;
}

/// Shows one screen and remembers what was sent, with the content of handed-in files.
#[derive(Default)]
struct One {
    sent: Mutex<Vec<(Sent, Option<Vec<u8>>)>>,
    file: Option<FileOut>,
}

impl Screens for One {
    fn screen(&self, address: &str) -> Result<Screen, Refusal> {
        let file = self.file.clone();
        let (over, tag, ongoing) = (String::new(), None, None);
        let beside = None;
        Ok(Screen {
            address: address.into(),
            over,
            title: "Job".into(),
            tag,
            drawn: 7,
            rows: vec![],
            ongoing,
            file,
            beside,
        })
    }

    fn send(&self, sent: &Sent) -> Result<Screen, Refusal> {
        match sent.token.as_str() {
            "refuse" => return Err(Refusal::Input("No cable. Add one.".into())),
            "break" => std::panic::resume_unwind(Box::new("broke on purpose")),
            _ => {}
        }
        let content = sent.input.as_ref().and_then(|path| std::fs::read(path).ok());
        self.sent.lock().unwrap().push((sent.clone(), content));
        self.screen("next")
    }
}

struct Running {
    port: u16,
    path: String,
    screens: Arc<One>,
    stop: oneshot::Sender<()>,
    task: JoinHandle<()>,
}

impl Running {
    async fn start(one: One) -> Self {
        let screens = Arc::new(one);
        Self::serve(Arc::clone(&screens) as Arc<dyn Screens>, screens).await
    }

    /// Serves `shown`; `screens` is what the test can look into.
    async fn serve(shown: Arc<dyn Screens>, screens: Arc<One>) -> Self {
        let options = Options { patience: Duration::from_millis(300), ..Options::default() };
        let server = Server::bind(shown, options).await.unwrap();
        let (port, address) = (server.port(), server.address());
        let path = address.split_once(&format!(":{port}")).unwrap().1.to_owned();
        let (stop, stopped) = oneshot::channel();
        let task = tokio::spawn(server.run(async {
            let _ = stopped.await;
        }));
        Self { port, path, screens, stop, task }
    }

    /// Sends bytes as they are and reads all that comes back until the other side closes.
    async fn raw(&self, bytes: &[u8]) -> String {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).await.unwrap();
        // The server may close while we still write: what it said before is what counts.
        let _ = stream.write_all(bytes).await;
        let mut answer = Vec::new();
        let _ = tokio::time::timeout(Duration::from_secs(20), stream.read_to_end(&mut answer)).await.unwrap();
        String::from_utf8_lossy(&answer).into_owned()
    }

    async fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> String {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
        if !headers.iter().any(|(name, _)| *name == "Host") {
            write!(head, "Host: 127.0.0.1:{}\r\n", self.port).unwrap();
        }
        for (name, value) in headers {
            write!(head, "{name}: {value}\r\n").unwrap();
        }
        head.push_str("\r\n");
        self.raw(&[head.as_bytes(), body].concat()).await
    }

    /// The cookie, by way of the first address.
    async fn cookie(&self) -> String {
        let answer = self.ask("GET", &self.path, &[], b"").await;
        assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
        let line = answer.lines().find(|line| line.to_lowercase().starts_with("set-cookie:")).unwrap();
        assert!(line.contains("HttpOnly") && line.contains("SameSite=Strict"), "{line}");
        line.split_once(": ").unwrap().1.split(';').next().unwrap().to_owned()
    }

    fn origin(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    async fn end(self) {
        self.stop.send(()).unwrap();
        tokio::time::timeout(Duration::from_secs(8), self.task).await.unwrap().unwrap();
    }
}

fn status(answer: &str) -> &str {
    answer.get(9..12).unwrap_or(answer)
}

const EVENT: &[u8] = br#"{"token":"t","input":null,"drawn":7}"#;

#[tokio::test]
async fn only_who_has_the_key_gets_in() {
    let page = Running::start(One::default()).await;
    for path in ["/", "/screen?at=x", "/page.js", "/page.css", "/mark.svg", "/file/x", "/nothing"] {
        assert_eq!(status(&page.ask("GET", path, &[], b"").await), "403", "{path}");
    }
    let wrong = format!("/enter/{}", "0".repeat(64));
    assert_eq!(status(&page.ask("GET", &wrong, &[], b"").await), "403");
    let cookie = page.cookie().await;
    let answer = page.ask("GET", "/", &[("Cookie", &cookie)], b"").await;
    assert_eq!(status(&answer), "200");
    assert!(answer.contains("Job"));
    let forged = format!("{}={}", cookie.split('=').next().unwrap(), "0".repeat(64));
    assert_eq!(status(&page.ask("GET", "/", &[("Cookie", &forged)], b"").await), "403");
    let second = format!("other=1; {cookie}");
    assert_eq!(status(&page.ask("GET", "/", &[("Cookie", &second)], b"").await), "200");
    page.end().await;
}

#[tokio::test]
async fn every_answer_forbids_what_is_not_ours() {
    let page = Running::start(One::default()).await;
    let cookie = page.cookie().await;
    for answer in [page.ask("GET", "/", &[("Cookie", &cookie)], b"").await, page.ask("GET", "/", &[], b"").await] {
        let head = answer.split("\r\n\r\n").next().unwrap().to_lowercase();
        for line in [
            "content-security-policy: default-src 'none'; script-src 'self';",
            "cache-control: no-store",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
        ] {
            assert!(head.contains(line), "{line} in {head}");
        }
    }
    page.end().await;
}

#[tokio::test]
async fn a_foreign_host_is_not_answered() {
    let page = Running::start(One::default()).await;
    let cookie = page.cookie().await;
    let own = format!("localhost:{}", page.port);
    assert_eq!(status(&page.ask("GET", "/", &[("Cookie", &cookie), ("Host", &own)], b"").await), "200");
    let other_port = format!("127.0.0.1:{}", page.port.wrapping_add(1));
    let suffixed = format!("127.0.0.1:{}.evil.example", page.port);
    for host in ["evil.example", "127.0.0.1", "localhost", &other_port, &suffixed, ""] {
        for path in ["/", page.path.as_str()] {
            let answer = page.ask("GET", path, &[("Cookie", &cookie), ("Host", host)], b"").await;
            assert_eq!(status(&answer), "421", "{host} {path}");
        }
    }
    page.end().await;
}

#[tokio::test]
async fn an_event_comes_from_this_page_alone() {
    let page = Running::start(One::default()).await;
    let cookie = page.cookie().await;
    let json = ("Content-Type", "application/json");
    let own = page.origin();
    let by_name = own.replace("127.0.0.1", "localhost");
    let refused: [&[(&str, &str)]; 6] = [
        &[],
        &[("Origin", "http://evil.example")],
        &[("Origin", "null")],
        &[("Origin", &by_name)],
        &[("Sec-Fetch-Site", "cross-site")],
        &[("Origin", &own), ("Sec-Fetch-Site", "cross-site")],
    ];
    for extra in refused {
        let headers = [&[("Cookie", cookie.as_str()), json], extra].concat();
        assert_eq!(status(&page.ask("POST", "/send", &headers, EVENT).await), "403", "{extra:?}");
    }
    let anonymous = page.ask("POST", "/send", &[("Origin", &own), json], EVENT).await;
    assert_eq!(status(&anonymous), "403");
    assert!(page.screens.sent.lock().unwrap().is_empty());
    for extra in [("Origin", own.as_str()), ("Sec-Fetch-Site", "same-origin")] {
        let answer = page.ask("POST", "/send", &[("Cookie", &cookie), json, extra], EVENT).await;
        assert_eq!(status(&answer), "200");
        assert!(answer.contains("data-address=\"next\""), "{answer}");
    }
    assert_eq!(page.screens.sent.lock().unwrap().len(), 2);
    let form = page.ask("POST", "/send", &[("Cookie", &cookie), ("Origin", &own)], EVENT).await;
    assert_eq!(status(&form), "415");
    page.end().await;
}

#[tokio::test]
async fn bad_input_a_refusal_and_a_panic_are_told_in_words() {
    let page = Running::start(One::default()).await;
    let (cookie, own) = (page.cookie().await, page.origin());
    let headers = [("Cookie", cookie.as_str()), ("Origin", own.as_str()), ("Content-Type", "application/json")];
    for body in [&b"not json"[..], b"{}", b"", &[0xff; 9]] {
        assert_eq!(status(&page.ask("POST", "/send", &headers, body).await), "400");
    }
    let refused = page.ask("POST", "/send", &headers, br#"{"token":"refuse","input":null,"drawn":7}"#).await;
    assert!(status(&refused) == "200" && refused.contains("refusal") && refused.contains("No cable. Add one."));
    let broke = page.ask("POST", "/send", &headers, br#"{"token":"break","input":null,"drawn":7}"#).await;
    assert!(status(&broke) == "500" && broke.contains("refusal"), "{broke}");
    assert_eq!(status(&page.ask("POST", "/send", &headers, EVENT).await), "200");
    page.end().await;
}

#[tokio::test]
async fn what_is_too_large_is_not_taken() {
    let page = Running::start(One::default()).await;
    let (cookie, own) = (page.cookie().await, page.origin());
    let headers = [("Cookie", cookie.as_str()), ("Origin", own.as_str()), ("Content-Type", "application/json")];
    let large = format!(r#"{{"token":"t","input":"{}","drawn":7}}"#, "x".repeat(300_000));
    assert_eq!(status(&page.ask("POST", "/send", &headers, large.as_bytes()).await), "413");
    let head = format!("/{}", "x".repeat(200_000));
    assert_eq!(status(&page.ask("GET", &head, &headers, b"").await), "431");
    let huge = vec![b'x'; 64 * 1024 * 1024 + 1];
    assert_eq!(status(&page.ask("POST", "/hand?token=t&drawn=7&name=a.txt", &headers, &huge).await), "413");
    assert!(page.screens.sent.lock().unwrap().is_empty());
    page.end().await;
}

#[tokio::test]
async fn a_file_is_handed_in_by_its_path_and_then_removed() {
    let page = Running::start(One::default()).await;
    let (cookie, own) = (page.cookie().await, page.origin());
    let headers = [("Cookie", cookie.as_str()), ("Origin", own.as_str())];
    let body = vec![b'y'; 3_000_000];
    let path = "/hand?token=import&drawn=7&name=..%2F..%2Fphone%202.jsonl";
    assert_eq!(status(&page.ask("POST", path, &headers, &body).await), "200");
    let (sent, content) = page.screens.sent.lock().unwrap().pop().unwrap();
    assert_eq!(content.unwrap(), body);
    let kept = std::path::PathBuf::from(sent.input.unwrap());
    assert_eq!(kept.extension().unwrap(), "jsonl");
    assert_eq!(kept.parent().unwrap(), std::env::temp_dir());
    assert!(!kept.exists());
    page.end().await;
}

#[tokio::test]
async fn only_an_offered_file_is_handed_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record");
    std::fs::write(&path, "B3,as left").unwrap();
    let file = FileOut {
        name: "day record \u{2013} B3.csv".into(),
        media: "text/csv".into(),
        path: path.to_string_lossy().into_owned(),
    };
    let page = Running::start(One { file: Some(file), ..One::default() }).await;
    let cookie = page.cookie().await;
    let headers = [("Cookie", cookie.as_str())];
    let screen = page.ask("GET", "/screen?at=x", &headers, b"").await;
    let link = screen.split("href=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let answer = page.ask("GET", &link, &headers, b"").await;
    assert!(answer.ends_with("B3,as left"), "{answer}");
    assert!(answer.contains("attachment; filename*=UTF-8''day%20record%20%E2%80%93%20B3.csv"), "{answer}");
    assert_eq!(status(&page.ask("GET", &link, &[], b"").await), "403");
    for other in ["/file/record", "/file/..%2Frecord", "/file/%2Fetc%2Fhostname"] {
        assert_eq!(status(&page.ask("GET", other, &headers, b"").await), "404", "{other}");
    }
    std::fs::remove_file(&path).unwrap();
    assert_eq!(status(&page.ask("GET", &link, &headers, b"").await), "404");
    page.end().await;
}

#[tokio::test]
async fn a_half_sent_request_is_closed() {
    let page = Running::start(One::default()).await;
    let (cookie, port) = (page.cookie().await, page.port);
    let half_head = format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n");
    let half_body = format!(
        "POST /send HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: {}\r\nCookie: {cookie}\r\n\
         Content-Type: application/json\r\nContent-Length: 400\r\n\r\n{{",
        page.origin()
    );
    let half_file = half_body.replace("/send", "/hand?token=t&drawn=7&name=a");
    // `raw` returns only when the server has closed the connection.
    for half in ["", &half_head, &half_body, &half_file] {
        let answer = page.raw(half.as_bytes()).await;
        assert!(answer.is_empty() || status(&answer) == "408", "{half}: {answer}");
    }
    assert!(page.screens.sent.lock().unwrap().is_empty());
    page.end().await;
}

#[tokio::test]
async fn it_ends_although_a_browser_keeps_its_connection() {
    let page = Running::start(One::default()).await;
    let idle = TcpStream::connect(("127.0.0.1", page.port)).await.unwrap();
    let port = page.port;
    page.end().await;
    drop(idle);
    assert!(TcpStream::connect(("127.0.0.1", port)).await.is_err());
}
