//! A disk whose power can go, as an SQLite VFS that lies over the real one.
//!
//! The program under test works on real files through SQLite's own unix layer, locks and shared memory included.
//! This layer remembers beside them what a disk would hold: of what was not synced when the power goes, any sector
//! may survive or not, a write may be torn, a new name may be missing and a deleted one back. It promises SQLite
//! nothing (no atomic, sequential or safe-append writes): promises would hide faults. After a failed sync the system
//! forgets that pages are unwritten, as Linux does: what the disk did not get then, a later sync does not bring. Only
//! who writes the bytes again brings them; the program does that past SQLite, which is noticed by the file's date.
#![allow(unsafe_code, reason = "an SQLite VFS is a table of C functions; nothing else here is unsafe")]
#![allow(clippy::cast_sign_loss, clippy::cast_possible_truncation, reason = "SQLite's offsets and sizes fit")]
#![allow(clippy::indexing_slicing, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::ffi::{CStr, c_char, c_int, c_void};
use std::fs;
use std::mem;
use std::path::Path;
use std::ptr;
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, UNIX_EPOCH};

use rusqlite::ffi;

const SECTOR: usize = 512;

/// What shall go wrong. Operations are counted from 1; 0 means never.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Plan {
    /// Start of the pseudo-random choices.
    pub(crate) seed: u64,
    /// The power goes in this operation that writes.
    pub(crate) cut_at: u64,
    /// One write in so many fails.
    pub(crate) fail_write: u64,
    /// One sync in so many fails.
    pub(crate) fail_sync: u64,
    /// No write finds room.
    pub(crate) full: bool,
    /// Syncs are acknowledged and not done.
    pub(crate) lying: bool,
    /// Files open to read only.
    pub(crate) read_only: bool,
}

/// What a disk holds of one file.
#[derive(Default)]
struct Held {
    durable: Vec<u8>,
    pending: Vec<Pending>,
    /// The file's name in its folder is on disk.
    named: bool,
    /// A sync failed.
    failed: bool,
}

/// The date of files that need to be written again: any other means that someone wrote past this layer.
const MARK: Duration = Duration::from_secs(1_000);

enum Pending {
    Write(usize, Vec<u8>),
    Size(usize),
}

impl Held {
    /// Whether only writing the file again makes sure that it is on disk.
    fn in_doubt(&self) -> bool {
        self.failed || !self.named
    }

    fn mark(&self, name: &str) {
        if self.in_doubt() {
            let file = fs::OpenOptions::new().write(true).open(name);
            let _ = file.and_then(|file| file.set_modified(UNIX_EPOCH + MARK));
        }
    }

    fn put(&mut self, pending: Pending) {
        match pending {
            Pending::Size(size) => self.durable.resize(size, 0),
            Pending::Write(at, bytes) => self.sector(at, &bytes),
        }
    }

    fn sector(&mut self, at: usize, bytes: &[u8]) {
        let end = at + bytes.len();
        if self.durable.len() < end {
            self.durable.resize(end, 0);
        }
        self.durable[at..end].copy_from_slice(bytes);
    }
}

struct Disk {
    files: BTreeMap<String, Held>,
    /// Files whose deletion is not yet on disk.
    gone: BTreeMap<String, Held>,
    plan: Plan,
    random: u64,
    operations: u64,
    off: bool,
}

static DISK: Mutex<Disk> = Mutex::new(Disk {
    files: BTreeMap::new(),
    gone: BTreeMap::new(),
    plan: Plan { seed: 0, cut_at: 0, fail_write: 0, fail_sync: 0, full: false, lying: false, read_only: false },
    random: 1,
    operations: 0,
    off: false,
});

fn disk() -> MutexGuard<'static, Disk> {
    DISK.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Disk {
    /// Xorshift: good enough to choose sectors, the same on every machine.
    fn next(&mut self) -> u64 {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 7;
        self.random ^= self.random << 17;
        self.random
    }

    fn coin(&mut self) -> bool {
        self.next().is_multiple_of(2)
    }

    fn one_in(&mut self, n: u64) -> bool {
        n > 0 && self.next().is_multiple_of(n)
    }

    /// Counts an operation that writes, and says whether the power has gone.
    fn operate(&mut self) -> bool {
        self.operations += 1;
        self.off |= self.plan.cut_at > 0 && self.operations >= self.plan.cut_at;
        self.off
    }

    /// Takes note of a program that wrote a whole file again and synced it and its folder.
    fn look(&mut self, name: &str) {
        let held = self.file(name);
        let date = fs::metadata(name).and_then(|meta| meta.modified());
        if held.in_doubt() && date.is_ok_and(|date| date != UNIX_EPOCH + MARK) {
            held.durable = fs::read(name).unwrap_or_default();
            held.pending.clear();
            held.failed = false;
            self.sync_folder();
        }
    }

    fn sync_folder(&mut self) {
        self.files.values_mut().for_each(|held| held.named = true);
        self.gone.clear();
    }

    fn file(&mut self, name: &str) -> &mut Held {
        self.files.entry(name.to_owned()).or_default()
    }
}

/// One test at a time has the disk.
pub(crate) struct Turn(#[allow(dead_code, reason = "held, not read")] MutexGuard<'static, ()>);

/// Waits for the disk and puts this layer under every connection of this process.
pub(crate) fn turn() -> Turn {
    static TURNS: Mutex<()> = Mutex::new(());
    let turn = TURNS.lock().unwrap_or_else(PoisonError::into_inner);
    register();
    Turn(turn)
}

/// A new disk.
pub(crate) fn fresh(plan: Plan) {
    let mut disk = disk();
    disk.files.clear();
    disk.gone.clear();
    disk.random = plan.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    disk.plan = plan;
    disk.operations = 0;
    disk.off = false;
}

/// From now on other things go wrong.
pub(crate) fn replan(plan: Plan) {
    disk().plan = plan;
}

/// How many operations that write there were.
pub(crate) fn operations() -> u64 {
    disk().operations
}

/// The power goes now, if it has not, and comes back; the real files become what the disk then holds. No connection
/// may be open.
pub(crate) fn power_back() {
    let mut disk = disk();
    for (name, mut held) in mem::take(&mut disk.files) {
        let _ = fs::remove_file(format!("{name}-shm"));
        if !held.named && disk.coin() {
            let _ = fs::remove_file(&name);
            continue;
        }
        for pending in mem::take(&mut held.pending) {
            match pending {
                Pending::Write(at, bytes) => {
                    for (n, sector) in bytes.chunks(SECTOR).enumerate() {
                        if disk.coin() {
                            held.sector(at + n * SECTOR, sector);
                        }
                    }
                }
                Pending::Size(size) if disk.coin() => held.put(Pending::Size(size)),
                Pending::Size(_) => {}
            }
        }
        back(&mut disk, name, held);
    }
    for (name, held) in mem::take(&mut disk.gone) {
        if disk.coin() {
            back(&mut disk, name, held);
        }
    }
    disk.off = false;
    disk.plan = Plan::default();
}

fn back(disk: &mut Disk, name: String, held: Held) {
    // A file that was renamed meanwhile is found again under its new name.
    if Path::new(&name).parent().is_some_and(Path::exists) && fs::write(&name, &held.durable).is_ok() {
        disk.files.insert(name, Held { named: true, pending: Vec::new(), failed: false, ..held });
    }
}

/// An open file: SQLite's part first, the real file behind it in the same memory.
#[repr(C)]
struct Open {
    base: ffi::sqlite3_file,
    name: *mut String,
    sync_folder: bool,
}

/// The layer below.
fn below() -> *mut ffi::sqlite3_vfs {
    static BELOW: OnceLock<usize> = OnceLock::new();
    // SAFETY: a null name asks for the default layer, which is never unregistered; it is asked for before ours is.
    let found = BELOW.get_or_init(|| unsafe { ffi::sqlite3_vfs_find(ptr::null()) } as usize);
    *found as *mut ffi::sqlite3_vfs
}

unsafe fn real(file: *mut ffi::sqlite3_file) -> *mut ffi::sqlite3_file {
    // SAFETY: szOsFile reserves the layer below its space behind `Open`.
    unsafe { file.cast::<u8>().add(size_of::<Open>()).cast() }
}

/// The name of a file that is watched; temporary files are not.
unsafe fn name(file: *mut ffi::sqlite3_file) -> Option<String> {
    // SAFETY: every open file is an `Open` whose name is null or from `Box::into_raw`.
    unsafe { (*file.cast::<Open>()).name.as_ref().cloned() }
}

/// Calls a function of the real file.
macro_rules! forward {
    ($file:ident.$call:ident($($argument:expr),*)) => {{
        // SAFETY: the real file was opened by the layer below, which has all functions of version 2.
        unsafe {
            let real = real($file);
            match (*(*real).pMethods).$call {
                Some(call) => call(real, $($argument),*),
                None => ffi::SQLITE_IOERR,
            }
        }
    }};
}

unsafe extern "C" fn close(file: *mut ffi::sqlite3_file) -> c_int {
    let done = forward!(file.xClose());
    // SAFETY: the name is null or from `Box::into_raw`, and is taken once.
    unsafe {
        let name = mem::replace(&mut (*file.cast::<Open>()).name, ptr::null_mut());
        if !name.is_null() {
            drop(Box::from_raw(name));
        }
    }
    done
}

unsafe extern "C" fn read(file: *mut ffi::sqlite3_file, to: *mut c_void, n: c_int, at: ffi::sqlite3_int64) -> c_int {
    if disk().off {
        return ffi::SQLITE_IOERR_READ;
    }
    forward!(file.xRead(to, n, at))
}

unsafe extern "C" fn write(
    file: *mut ffi::sqlite3_file,
    from: *const c_void,
    n: c_int,
    at: ffi::sqlite3_int64,
) -> c_int {
    // SAFETY: SQLite gives a file of ours.
    if let Some(name) = unsafe { name(file) } {
        let mut disk = disk();
        let was_off = disk.off;
        let cut = disk.operate();
        if was_off {
            return ffi::SQLITE_IOERR_WRITE;
        }
        if disk.plan.full {
            return ffi::SQLITE_FULL;
        }
        let every = disk.plan.fail_write;
        if !cut && disk.one_in(every) {
            return ffi::SQLITE_IOERR_WRITE;
        }
        // SAFETY: SQLite gives n bytes to write.
        let bytes = unsafe { std::slice::from_raw_parts(from.cast::<u8>(), n as usize) }.to_vec();
        disk.look(&name);
        disk.file(&name).pending.push(Pending::Write(at as usize, bytes));
        if cut {
            return ffi::SQLITE_IOERR_WRITE;
        }
        let done = forward!(file.xWrite(from, n, at));
        disk.file(&name).mark(&name);
        return done;
    }
    forward!(file.xWrite(from, n, at))
}

unsafe extern "C" fn truncate(file: *mut ffi::sqlite3_file, size: ffi::sqlite3_int64) -> c_int {
    // SAFETY: SQLite gives a file of ours.
    if let Some(name) = unsafe { name(file) } {
        let mut disk = disk();
        if disk.operate() {
            return ffi::SQLITE_IOERR_TRUNCATE;
        }
        disk.look(&name);
        disk.file(&name).pending.push(Pending::Size(size as usize));
        let done = forward!(file.xTruncate(size));
        disk.file(&name).mark(&name);
        return done;
    }
    forward!(file.xTruncate(size))
}

unsafe extern "C" fn sync(file: *mut ffi::sqlite3_file, _: c_int) -> c_int {
    // SAFETY: SQLite gives a file of ours.
    let Some(name) = (unsafe { name(file) }) else { return ffi::SQLITE_OK };
    let mut disk = disk();
    if disk.operate() {
        return ffi::SQLITE_IOERR_FSYNC;
    }
    if disk.plan.lying {
        return ffi::SQLITE_OK;
    }
    disk.look(&name);
    let every = disk.plan.fail_sync;
    let fails = disk.one_in(every);
    for pending in mem::take(&mut disk.file(&name).pending) {
        if !fails || disk.coin() {
            disk.file(&name).put(pending);
        }
    }
    if fails {
        disk.file(&name).failed = true;
        disk.file(&name).mark(&name);
        return ffi::SQLITE_IOERR_FSYNC;
    }
    // As the unix layer does: the first sync of a new journal or write-ahead file also syncs the folder, and so
    // every name in it.
    // SAFETY: every open file is an `Open`.
    if mem::take(unsafe { &mut (*file.cast::<Open>()).sync_folder }) {
        disk.sync_folder();
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn size(file: *mut ffi::sqlite3_file, to: *mut ffi::sqlite3_int64) -> c_int {
    forward!(file.xFileSize(to))
}

unsafe extern "C" fn lock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    forward!(file.xLock(level))
}

unsafe extern "C" fn unlock(file: *mut ffi::sqlite3_file, level: c_int) -> c_int {
    forward!(file.xUnlock(level))
}

unsafe extern "C" fn reserved(file: *mut ffi::sqlite3_file, to: *mut c_int) -> c_int {
    forward!(file.xCheckReservedLock(to))
}

unsafe extern "C" fn control(_: *mut ffi::sqlite3_file, _: c_int, _: *mut c_void) -> c_int {
    ffi::SQLITE_NOTFOUND
}

unsafe extern "C" fn sector(_: *mut ffi::sqlite3_file) -> c_int {
    c_int::try_from(SECTOR).unwrap_or(512)
}

unsafe extern "C" fn promises(_: *mut ffi::sqlite3_file) -> c_int {
    0
}

unsafe extern "C" fn shm_map(
    file: *mut ffi::sqlite3_file,
    region: c_int,
    bytes: c_int,
    extend: c_int,
    to: *mut *mut c_void,
) -> c_int {
    forward!(file.xShmMap(region, bytes, extend, to))
}

unsafe extern "C" fn shm_lock(file: *mut ffi::sqlite3_file, at: c_int, n: c_int, flags: c_int) -> c_int {
    forward!(file.xShmLock(at, n, flags))
}

unsafe extern "C" fn shm_barrier(file: *mut ffi::sqlite3_file) {
    // SAFETY: as in `forward!`.
    unsafe {
        let real = real(file);
        if let Some(call) = (*(*real).pMethods).xShmBarrier {
            call(real);
        }
    }
}

unsafe extern "C" fn shm_unmap(file: *mut ffi::sqlite3_file, delete: c_int) -> c_int {
    forward!(file.xShmUnmap(delete))
}

static FILE: ffi::sqlite3_io_methods = ffi::sqlite3_io_methods {
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(reserved),
    xFileControl: Some(control),
    xSectorSize: Some(sector),
    xDeviceCharacteristics: Some(promises),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};

unsafe extern "C" fn open(
    _: *mut ffi::sqlite3_vfs,
    path: ffi::sqlite3_filename,
    file: *mut ffi::sqlite3_file,
    flags: c_int,
    out: *mut c_int,
) -> c_int {
    // SAFETY: a null name is a temporary file; any other ends with a zero byte.
    let name = (!path.is_null()).then(|| unsafe { CStr::from_ptr(path) }.to_string_lossy().into_owned());
    // SAFETY: SQLite gives memory for an `Open` and the real file behind it.
    unsafe { (*file).pMethods = ptr::null() };
    let (off, read_only) = {
        let disk = disk();
        (disk.off, disk.plan.read_only)
    };
    if off {
        return ffi::SQLITE_CANTOPEN;
    }
    let both = ffi::SQLITE_OPEN_READWRITE | ffi::SQLITE_OPEN_CREATE;
    let flags = if read_only { flags & !both | ffi::SQLITE_OPEN_READONLY } else { flags };
    let before = name.as_ref().and_then(|name| fs::read(name).ok());
    // SAFETY: the layer below gets its own VFS and its own part of the memory.
    let done = unsafe {
        match (*below()).xOpen {
            Some(call) => call(below(), path, real(file), flags, out),
            None => ffi::SQLITE_CANTOPEN,
        }
    };
    if done != ffi::SQLITE_OK {
        return done;
    }
    let new = before.is_none();
    if let Some(name) = &name {
        let mut disk = disk();
        if !disk.files.contains_key(name) {
            let held = Held { durable: before.unwrap_or_default(), named: !new, ..Held::default() };
            held.mark(name);
            disk.files.insert(name.clone(), held);
        }
    }
    let journal = ffi::SQLITE_OPEN_MAIN_JOURNAL | ffi::SQLITE_OPEN_WAL | ffi::SQLITE_OPEN_SUPER_JOURNAL;
    // SAFETY: as above.
    unsafe {
        let open = &mut *file.cast::<Open>();
        open.name = name.map_or(ptr::null_mut(), |name| Box::into_raw(Box::new(name)));
        open.sync_folder = new && flags & journal != 0;
        open.base.pMethods = &raw const FILE;
    }
    ffi::SQLITE_OK
}

unsafe extern "C" fn delete(_: *mut ffi::sqlite3_vfs, path: *const c_char, sync_folder: c_int) -> c_int {
    let mut disk = disk();
    if disk.operate() {
        return ffi::SQLITE_IOERR_DELETE;
    }
    // SAFETY: the path ends with a zero byte.
    let name = unsafe { CStr::from_ptr(path) }.to_string_lossy().into_owned();
    if let Some(held) = disk.files.remove(&name) {
        if sync_folder == 0 && held.named {
            disk.gone.insert(name, held);
        } else {
            disk.gone.remove(&name);
        }
    }
    // SAFETY: the layer below gets its own VFS.
    unsafe { (*below()).xDelete.map_or(ffi::SQLITE_IOERR_DELETE, |call| call(below(), path, 0)) }
}

unsafe extern "C" fn access(_: *mut ffi::sqlite3_vfs, path: *const c_char, flags: c_int, out: *mut c_int) -> c_int {
    // SAFETY: the layer below gets its own VFS.
    unsafe { (*below()).xAccess.map_or(ffi::SQLITE_IOERR_ACCESS, |call| call(below(), path, flags, out)) }
}

unsafe extern "C" fn full_path(_: *mut ffi::sqlite3_vfs, path: *const c_char, n: c_int, out: *mut c_char) -> c_int {
    // SAFETY: the layer below gets its own VFS.
    unsafe { (*below()).xFullPathname.map_or(ffi::SQLITE_CANTOPEN, |call| call(below(), path, n, out)) }
}

fn register() {
    static ONCE: OnceLock<()> = OnceLock::new();
    ONCE.get_or_init(|| {
        // SAFETY: the default layer lives as long as the process; its functions that do not look at files are kept.
        let ours = unsafe {
            let mut ours = *below();
            ours.iVersion = 1;
            ours.szOsFile += c_int::try_from(size_of::<Open>()).unwrap_or(64);
            ours.pNext = ptr::null_mut();
            ours.zName = c"cut".as_ptr();
            ours.xOpen = Some(open);
            ours.xDelete = Some(delete);
            ours.xAccess = Some(access);
            ours.xFullPathname = Some(full_path);
            ours
        };
        // SAFETY: the table is never freed.
        let done = unsafe { ffi::sqlite3_vfs_register(Box::leak(Box::new(ours)), 1) };
        assert_eq!(done, ffi::SQLITE_OK);
    });
}
