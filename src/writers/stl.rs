//! Binary STL: a mesh for a printer that builds in plastic, in millimetres, standing on its cut end.

use crate::tip::mesh::Mesh;

/// How every file begins; the sign that this program made it. (A file that began with `solid` would be taken for text.)
const SIGN: &[u8] = b"Nockwright trial piece, mm";

/// Whether these bytes are a mesh made by this program.
pub fn made(bytes: &[u8]) -> bool {
    bytes.starts_with(SIGN)
}

/// The mesh as a file: a head of 80 bytes, the number of triangles, then for each its normal, its corners and two empty bytes.
/// `z` is along the limb with the cut end at 0, `x` across the width, `y` toward the back.
pub fn write(mesh: &Mesh) -> Vec<u8> {
    let foot = mesh.points.iter().map(|p| p[0]).fold(f64::INFINITY, f64::min);
    let points: Vec<[f32; 3]> =
        mesh.points.iter().map(|[a, w, b]| [w * 1e3, b * 1e3, (a - foot) * 1e3].map(|v| v as f32)).collect();
    let mut bytes = SIGN.to_vec();
    bytes.resize(80, b' ');
    bytes.extend((mesh.faces.len() as u32).to_le_bytes());
    for face in &mesh.faces {
        let [p, q, r] = face.map(|i| points[i as usize]);
        let (u, v): ([f32; 3], [f32; 3]) = (std::array::from_fn(|i| q[i] - p[i]), std::array::from_fn(|i| r[i] - p[i]));
        let normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        let length = normal.iter().map(|n| n * n).sum::<f32>().sqrt();
        // Adding zero turns a negative zero into zero; a triangle of no area has no normal.
        let normal = normal.map(|n| if length > 0.0 { n / length + 0.0 } else { 0.0 });
        for value in [normal, p, q, r].into_iter().flatten() {
            bytes.extend((value + 0.0).to_le_bytes());
        }
        bytes.extend([0, 0]);
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_triangle_by_hand() {
        // a, w, b: the foot is at a = -1 m.
        let mesh = Mesh { points: vec![[-1.0, 0.0, 0.0], [-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]], faces: vec![[0, 1, 2]] };
        let bytes = write(&mesh);
        assert!(made(&bytes) && bytes.len() == 84 + 50);
        let value = |i: usize| f32::from_le_bytes(bytes[84 + 4 * i..88 + 4 * i].try_into().unwrap());
        let values: Vec<f32> = (0..12).map(value).collect();
        assert_eq!(values, [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1000.0, 0.0, 0.0, 0.0, 1000.0, 0.0]);
    }
}
