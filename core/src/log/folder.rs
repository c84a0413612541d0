//! A notebook: a folder with one file for each site and one for the person's own kit.
//!
//! ```text
//! kit.boxproof
//! sites/01938c2e-….boxproof
//! ```

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::connection::ASIDE;
use super::error::{LogError, Trouble};
use super::store::{About, Log};
use crate::job::ThingId;

/// What our files' names end with.
pub const EXTENSION: &str = "boxproof";

/// A notebook on disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folder {
    path: PathBuf,
}

/// A site's file in a notebook.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SiteFile {
    /// The site, as its file's name says; `None` if somebody gave the file another name.
    pub site: Option<ThingId>,
    /// Where the file is.
    pub path: PathBuf,
}

impl Folder {
    /// Opens the notebook at `path`, and makes the folder if there is none.
    pub fn open(path: &Path) -> Result<Self, LogError> {
        let folder = Self { path: path.to_owned() };
        // A notebook that can only be read has its folders already.
        let sites = folder.sites_folder();
        if !sites.is_dir() {
            fs::create_dir_all(&sites).map_err(|error| Trouble::from(error).outside(path))?;
        }
        Ok(folder)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn sites_folder(&self) -> PathBuf {
        self.path.join("sites")
    }

    /// Where the file of a site is or would be.
    pub fn site_path(&self, site: ThingId) -> PathBuf {
        self.sites_folder().join(format!("{site}.{EXTENSION}"))
    }

    /// Where the kit's file is or would be.
    pub fn kit_path(&self) -> PathBuf {
        self.path.join(format!("kit.{EXTENSION}"))
    }

    /// The sites' files in order of their names. None is opened.
    pub fn sites(&self) -> Result<Vec<SiteFile>, LogError> {
        let files = files(&self.sites_folder())?;
        let ours = files.into_iter().filter(|path| path.extension().is_some_and(|end| end == EXTENSION));
        Ok(ours
            .map(|path| SiteFile { site: path.file_stem().and_then(|stem| stem.to_str()?.parse().ok()), path })
            .collect())
    }

    /// The damaged files that were moved aside: see [`Salvage`](super::Salvage) for what is in them.
    pub fn damaged(&self) -> Result<Vec<PathBuf>, LogError> {
        let mut all = files(&self.path)?;
        all.extend(files(&self.sites_folder())?);
        all.retain(|path| is_set_aside(path));
        Ok(all)
    }

    /// Opens the file of a site.
    pub fn site(&self, site: ThingId) -> Result<Log, LogError> {
        Log::open(&self.site_path(site))
    }

    /// Begins the file of a site that is new here.
    pub fn new_site(&self, site: ThingId) -> Result<Log, LogError> {
        Log::create(&self.site_path(site), About::Site(site))
    }

    /// Opens the kit's file, and begins it under the name `new` if there is none.
    pub fn kit(&self, new: ThingId) -> Result<Log, LogError> {
        match Log::open(&self.kit_path()) {
            Err(LogError::Missing { .. }) => Log::create(&self.kit_path(), About::Kit(new)),
            opened => opened,
        }
    }
}

/// The files of a folder in order of their names.
fn files(folder: &Path) -> Result<Vec<PathBuf>, LogError> {
    let list = || -> io::Result<Vec<PathBuf>> {
        let mut files = Vec::new();
        for item in fs::read_dir(folder)? {
            let item = item?;
            if item.file_type()?.is_file() {
                files.push(item.path());
            }
        }
        files.sort();
        Ok(files)
    };
    list().map_err(|error| Trouble::from(error).outside(folder))
}

/// Whether a file's name is one that a damaged file was given, and not one of its companions'.
fn is_set_aside(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let number = name.rsplit_once(ASIDE).map(|(_, number)| number);
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()))
}
