//! Documents read and checked, whoever wrote them: what is wrong with one is the same in every version and on every path.

use std::path::Path;

use crate::notebook::{Build, Checked, DocumentKind, Job, Outing, Part, of_build, of_part, read, rules};
use crate::store::folder::garage::Garage;

/// The folder of all jobs.
pub(in crate::store) const JOBS: &str = "jobs";

/// Reads an outing file with everything that is wrong with it.
pub fn outing(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Outing> {
    let mut checked = read::<Outing>(DocumentKind::Outing, file, bytes, garage.read_options());
    if let Some(air) = checked.document.as_ref().and_then(|outing| outing.air.as_ref()) {
        checked.findings.extend(rules::of_air(file, &checked.fields, "air", air));
    }
    checked
}

/// Reads a build file with everything that is wrong with it.
pub fn build(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Build> {
    let mut checked = read::<Build>(DocumentKind::Build, file, bytes, garage.read_options());
    if let Some(build) = &checked.document {
        checked.findings.extend(of_build(file, &checked.fields, build));
    }
    checked
}

/// Reads a part's file with everything that is wrong with it.
pub fn part(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Part> {
    let mut checked = read::<Part>(DocumentKind::Part, file, bytes, garage.read_options());
    if let Some(part) = &checked.document {
        checked.findings.extend(of_part(file, &checked.fields, part));
    }
    checked
}

/// Reads a file of jobs with everything that is wrong with it.
pub fn job(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Job> {
    read::<Job>(DocumentKind::Job, file, bytes, garage.read_options())
}
