//! `nockwright mesh`

use super::{DesignArgs, Ending, say, show};
use crate::design::Side;
use crate::tip::mesh::Mesh;
use crate::writers::{files, stl};
use std::fmt::Write;
use std::path::PathBuf;

/// Length of plain limb below the nock that is kept to hold the piece by, m.
const HANDHOLD: f64 = 25e-3;

/// Write both finished nocks as STL files (mm), to print in plastic and try a string on.
///
/// They are read from the same solid as the sheets and the string's path. A trial piece shows the shape; it is not strong
/// enough for a bow.
#[derive(Debug, clap::Args)]
pub(super) struct MeshCommand {
    #[command(flatten)]
    design: DesignArgs,
    /// Folder to write to; it is made when it is not there
    #[arg(long, default_value = "mesh-out", value_name = "FOLDER")]
    out: PathBuf,
}

impl MeshCommand {
    pub(super) fn run(self) -> Ending {
        let (input, worked) = match self.design.work() {
            Ok(work) => work,
            Err(ending) => return ending,
        };
        let meshes = Side::BOTH.iter().filter_map(|&side| {
            let nock = worked.nocks.get(side);
            Mesh::of_tip(&nock.solid, nock.reach() - HANDHOLD).map(|mesh| (side, mesh))
        });
        let meshes: Vec<(Side, Mesh)> = meshes.collect();
        let written: Vec<(String, Vec<u8>)> =
            meshes.iter().map(|(side, mesh)| (format!("-{}.stl", side.name()), stl::write(mesh))).collect();
        let saved = match files::save(&self.out, &files::file_stem(&worked.design.name), &written) {
            Ok(saved) => saved,
            Err(faults) => return input.refuse(faults),
        };
        let mut text = String::new();
        for (path, (_, mesh)) in saved.written.iter().zip(&meshes) {
            let _ = writeln!(
                text,
                "wrote {}: {} triangles, {:.2} cm3",
                path.display(),
                mesh.faces.len(),
                mesh.volume() * 1e6
            );
        }
        show(&text);
        say("a trial piece shows the shape and takes a string by hand; it is not to be shot with");
        Ending::Good
    }
}
