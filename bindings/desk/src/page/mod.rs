//! The screens of the notebook on a page that only this machine can reach.
//!
//! The server renders rows as HTML; the page sends tokens back and swaps what comes. Nothing here knows of electricity.
//! `guard` decides who may ask, `wire` holds the connections, `route` answers, `row`, `shape`, `shell` and `look` draw.

mod guard;
mod look;
mod route;
mod row;
mod shape;
mod shell;
#[cfg(test)]
mod tests;
mod wire;

use std::collections::VecDeque;
use std::io::Write as _;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use boxproof_core::app::{Notebook, Refusal, Sent};
use boxproof_core::screen::{FileOut, Screen};
use boxproof_core::words::say;
use tokio::net::TcpListener;

use crate::outside;

/// Whatever has screens: the notebook, or the gallery of rows that the tests of the page look at.
pub trait Screens: Send + Sync {
    /// The screen at an address.
    fn screen(&self, address: &str) -> Result<Screen, Refusal>;
    /// Sends an event; answers with the screen to show next.
    fn send(&self, sent: &Sent) -> Result<Screen, Refusal>;
}

impl Screens for Notebook {
    fn screen(&self, address: &str) -> Result<Screen, Refusal> {
        Self::screen(self, address)
    }

    fn send(&self, sent: &Sent) -> Result<Screen, Refusal> {
        Self::send(self, sent)
    }
}

/// How the page is served.
#[derive(Debug, Clone)]
pub struct Options {
    /// The port on 127.0.0.1; 0 takes a free one.
    pub port: u16,
    /// Address of the first screen; empty: the list of sites.
    pub first: String,
    /// How long a request may stand half-sent before its connection is closed.
    pub patience: Duration,
}

impl Default for Options {
    fn default() -> Self {
        Self { port: 0, first: String::new(), patience: Duration::from_secs(15) }
    }
}

/// Why the page could not be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port is taken, or the machine refuses.
    #[error("{}", say("page.port", &[("port", &port.to_string()), ("why", &why.to_string())]))]
    Bind {
        /// The port.
        port: u16,
        /// What the system said.
        why: std::io::Error,
    },
    /// The system gave no random bytes.
    #[error("{}", say("page.random", &[("why", .0)]))]
    Random(String),
    /// The standard output is gone.
    #[error("{}", say("page.print", &[("why", &.0.to_string())]))]
    Print(std::io::Error),
    /// The system gave no event loop.
    #[error("{}", say("page.start", &[("why", &.0.to_string())]))]
    Start(std::io::Error),
}

/// What all connections share.
struct Desk {
    screens: Arc<dyn Screens>,
    options: Options,
    port: u16,
    /// Stands in the first address.
    key: String,
    /// What the key is turned into.
    cookie: String,
    files: Mutex<VecDeque<(String, FileOut)>>,
}

/// Files that were offered and can still be fetched.
const FILES_KEPT: usize = 32;

impl Desk {
    /// Keeps a file ready under a name that nobody can guess; answers where it can be fetched.
    fn offer(&self, file: &FileOut) -> Option<String> {
        let mut files = self.files.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some((name, _)) = files.iter().find(|(_, known)| known == file) {
            return Some(format!("/file/{name}"));
        }
        let name = outside::secret_name().ok()?;
        if files.len() == FILES_KEPT {
            files.pop_front();
        }
        files.push_back((name.clone(), file.clone()));
        Some(format!("/file/{name}"))
    }

    fn offered(&self, name: &str) -> Option<FileOut> {
        let files = self.files.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        files.iter().find(|(known, _)| known == name).map(|(_, file)| file.clone())
    }
}

/// A page that is bound to its port and ready to run.
pub struct Server {
    listener: TcpListener,
    desk: Arc<Desk>,
}

impl Server {
    /// Takes the port and makes the secrets.
    pub async fn bind(screens: Arc<dyn Screens>, options: Options) -> Result<Self, ServeError> {
        let taken = |why| ServeError::Bind { port: options.port, why };
        let listener = TcpListener::bind(("127.0.0.1", options.port)).await.map_err(taken)?;
        let port = listener.local_addr().map_err(taken)?.port();
        let key = outside::secret_name().map_err(ServeError::Random)?;
        let cookie = outside::secret_name().map_err(ServeError::Random)?;
        let files = Mutex::new(VecDeque::new());
        Ok(Self { listener, desk: Arc::new(Desk { screens, options, port, key, cookie, files }) })
    }

    /// The first address, with the key in it.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/enter/{}", self.desk.port, self.desk.key)
    }

    /// Answers until `stop` is ready; what is being answered then is finished.
    pub async fn run(self, stop: impl Future<Output = ()>) {
        wire::accept(self.listener, route::routes(&self.desk), self.desk.options.patience, stop).await;
    }
}

/// Serves the screens until the program is interrupted. Prints the address to open, and nothing else.
pub fn serve(screens: Arc<dyn Screens>, options: Options) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(ServeError::Start)?;
    runtime.block_on(async {
        let server = Server::bind(screens, options).await?;
        {
            let mut out = std::io::stdout().lock();
            writeln!(out, "{}", server.address()).and_then(|()| out.flush()).map_err(ServeError::Print)?;
        }
        server.run(interrupted()).await;
        Ok(())
    })
}

/// Ready when the person, or the system, asks the program to end.
async fn interrupted() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut end) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = end.recv() => {}
            }
            return;
        }
    }
    // Without a handler the signal still ends the program, only less gently.
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}
