//! The few calls of ngspice's shared library that are used here, made safe.
//!
//! The library is loaded when it is first asked for, through the crate `libloading`: Debian's package brings the
//! library without headers, so that linking it at build time would ask every builder for a development package, and
//! `libloading` is the well-kept way to load one without writing the platform's own calls. Signatures are those of
//! `sharedspice.h` in the ngspice manual, chapter "ngspice as shared library".

#![allow(unsafe_code, reason = "a C library is called; every use says why it is sound")]

use std::ffi::{CStr, CString, c_char, c_int, c_short, c_void};
use std::sync::{Mutex, OnceLock, PoisonError};

use libloading::Library;
use num_complex::Complex64;

use super::SpiceError;

/// Name of the library, and the Debian package that brings it.
const LIBRARY: &str = "libngspice.so.0";

/// A vector of results as `sharedspice.h` lays it out.
#[repr(C)]
struct VectorInfo {
    name: *mut c_char,
    kind: c_int,
    flags: c_short,
    real: *mut f64,
    complex: *mut [f64; 2],
    length: c_int,
}

type Told = extern "C" fn(*mut c_char, c_int, *mut c_void) -> c_int;
type Leaving = extern "C" fn(c_int, u8, u8, c_int, *mut c_void) -> c_int;
type Unused = Option<extern "C" fn()>;
type Init = unsafe extern "C" fn(Told, Option<Told>, Leaving, Unused, Unused, Unused, *mut c_void) -> c_int;
type Circ = unsafe extern "C" fn(*mut *mut c_char) -> c_int;
type Command = unsafe extern "C" fn(*mut c_char) -> c_int;
type VecInfo = unsafe extern "C" fn(*mut c_char) -> *mut VectorInfo;

/// What the library said that sounds like an error, and whether it wanted to leave.
static SAID: Mutex<Said> = Mutex::new(Said { errors: Vec::new(), leaving: false, version: String::new() });

struct Said {
    errors: Vec<String>,
    leaving: bool,
    /// What it calls itself as it starts.
    version: String,
}

extern "C" fn told(text: *mut c_char, _: c_int, _: *mut c_void) -> c_int {
    if !text.is_null() {
        // SAFETY: ngspice hands over a text that ends with zero and stays while this call lasts.
        let text = unsafe { CStr::from_ptr(text) }.to_string_lossy();
        if let Some((_, version)) = text.split_once("ngspice-") {
            let version = version.split_whitespace().next().unwrap_or_default();
            SAID.lock().unwrap_or_else(PoisonError::into_inner).version = format!("ngspice {version}");
        }
        if ["rror", "ingular", "atal"].iter().any(|word| text.contains(word)) {
            SAID.lock().unwrap_or_else(PoisonError::into_inner).errors.push(text.into_owned());
        }
    }
    0
}

extern "C" fn leaving(_: c_int, _: u8, _: u8, _: c_int, _: *mut c_void) -> c_int {
    SAID.lock().unwrap_or_else(PoisonError::into_inner).leaving = true;
    0
}

/// The loaded library. There is one, behind one lock: ngspice keeps its state in globals.
pub(super) struct Shared {
    circ: Circ,
    command: Command,
    vec_info: VecInfo,
    /// Keeps the functions above where they are. Never unloaded.
    _library: Library,
}

/// The one library.
///
/// # Errors
/// [`SpiceError::Missing`] if it cannot be loaded.
pub(super) fn library() -> Result<&'static Mutex<Shared>, SpiceError> {
    static SHARED: OnceLock<Result<Mutex<Shared>, SpiceError>> = OnceLock::new();
    SHARED.get_or_init(|| Shared::load().map(Mutex::new)).as_ref().map_err(Clone::clone)
}

/// Keeps what was freed, so that no position pays for memory from the system: ngspice frees and takes the same again
/// in every analysis. With this it is at its fastest.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
fn keep_memory() {
    unsafe extern "C" {
        fn mallopt(parameter: c_int, value: c_int) -> c_int;
    }
    const TRIM_THRESHOLD: c_int = -1;
    const TOP_PAD: c_int = -2;
    const MMAP_THRESHOLD: c_int = -3;
    for (parameter, bytes) in [(TOP_PAD, 1 << 26), (TRIM_THRESHOLD, 1 << 30), (MMAP_THRESHOLD, 1 << 30)] {
        // SAFETY: glibc's call takes two numbers and touches nothing of ours; refused values change nothing.
        unsafe { mallopt(parameter, bytes) };
    }
}

#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
fn keep_memory() {}

#[allow(clippy::unused_self, reason = "only who holds the library may ask it")]
impl Shared {
    fn load() -> Result<Self, SpiceError> {
        keep_memory();
        let missing = |error: libloading::Error| SpiceError::Missing(error.to_string());
        // SAFETY: the library's own initialisers run; ngspice's set its globals and nothing of ours.
        let library = unsafe { Library::new(LIBRARY) }.map_err(missing)?;
        // SAFETY: the types are those of `sharedspice.h`; the copies live no longer than the library beside them.
        let (init, circ, command, vec_info) = unsafe {
            (
                *library.get::<Init>(b"ngSpice_Init\0").map_err(missing)?,
                *library.get::<Circ>(b"ngSpice_Circ\0").map_err(missing)?,
                *library.get::<Command>(b"ngSpice_Command\0").map_err(missing)?,
                *library.get::<VecInfo>(b"ngGet_Vec_Info\0").map_err(missing)?,
            )
        };
        // SAFETY: called once, before any other call; the callbacks are functions that live for ever, and a missing
        // callback is allowed. Nothing of ours is handed over as user data.
        let answer = unsafe { init(told, None, leaving, None, None, None, std::ptr::null_mut()) };
        let shared = Self { circ, command, vec_info, _library: library };
        shared.answered("start", answer)?;
        Ok(shared)
    }

    /// What the library called itself as it started.
    pub(super) fn version(&self) -> String {
        SAID.lock().unwrap_or_else(PoisonError::into_inner).version.clone()
    }

    fn answered(&self, what: &str, answer: c_int) -> Result<(), SpiceError> {
        let mut said = SAID.lock().unwrap_or_else(PoisonError::into_inner);
        let errors = std::mem::take(&mut said.errors);
        if answer == 0 && errors.is_empty() && !said.leaving {
            return Ok(());
        }
        Err(SpiceError::Refused { what: what.to_owned(), said: errors.join("\n") })
    }

    /// Loads a circuit, line by line.
    pub(super) fn circuit(&mut self, lines: &[String]) -> Result<(), SpiceError> {
        let refused = |_| SpiceError::Refused { what: "circuit".into(), said: "a line holds a zero byte".into() };
        let texts: Vec<CString> =
            lines.iter().map(|line| CString::new(line.as_str())).collect::<Result<_, _>>().map_err(refused)?;
        let mut pointers: Vec<*mut c_char> = texts.iter().map(|text| text.as_ptr().cast_mut()).collect();
        pointers.push(std::ptr::null_mut());
        // SAFETY: a list of texts that ends with null, as asked; ngspice copies each line and writes to none.
        let answer = unsafe { (self.circ)(pointers.as_mut_ptr()) };
        self.answered("circuit", answer)
    }

    /// Runs a command.
    pub(super) fn command(&mut self, command: &CStr) -> Result<(), SpiceError> {
        // SAFETY: a text that ends with zero; ngspice copies it before it takes it apart. `&mut self` comes from the
        // one lock, so that no other call runs.
        let answer = unsafe { (self.command)(command.as_ptr().cast_mut()) };
        if answer == 0 && SAID.lock().is_ok_and(|said| said.errors.is_empty() && !said.leaving) {
            return Ok(());
        }
        self.answered(&command.to_string_lossy(), answer)
    }

    /// The first value of a vector of the current analysis.
    pub(super) fn value(&mut self, vector: &CStr) -> Option<Complex64> {
        // SAFETY: as for a command. The answer is null or a structure of ngspice's that stays until its next call.
        let info = unsafe { (self.vec_info)(vector.as_ptr().cast_mut()).as_ref() }?;
        if info.length < 1 || info.complex.is_null() {
            return None;
        }
        // SAFETY: a complex vector of at least one element, checked above.
        let [re, im] = unsafe { *info.complex };
        Some(Complex64::new(re, im))
    }
}
