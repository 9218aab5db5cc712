//! Hand and foot as flat outlines by their dimensions: the skin closes the hand and wears a shoe.

use crate::body::Dimensions;

/// Lines through points, smooth between them (Catmull and Rom, 1974), closed or open.
fn smooth(points: &[[f64; 2]], closed: bool) -> Vec<[f64; 2]> {
    const STEPS: usize = 8;
    let count = points.len();
    // Beyond an open line's ends its end points stand again.
    let at = |index: usize| points[if closed { (index + count - 1) % count } else { index.clamp(1, count) - 1 }];
    let spans = if closed { count } else { count - 1 };
    let mut out = Vec::new();
    for span in 0..spans {
        let [a, b, c, d] = [0, 1, 2, 3].map(|next| at(span + next));
        for step in 0..STEPS {
            let t = step as f64 / STEPS as f64;
            out.push([0, 1].map(|i| {
                0.5 * (2.0 * b[i]
                    + (c[i] - a[i]) * t
                    + (2.0 * a[i] - 5.0 * b[i] + 4.0 * c[i] - d[i]) * t * t
                    + (3.0 * b[i] - a[i] - 3.0 * c[i] + d[i]) * t * t * t)
            }));
        }
    }
    out.push(at(spans + 1));
    out
}

/// The right foot from above, toes up, rear of the heel at the origin, m.
pub(super) fn foot(body: &Dimensions) -> Vec<Vec<[f64; 2]>> {
    let (length, ball) = (body.m("footlength"), body.m("balloffootlength"));
    let (half, heel) = (body.m("footbreadthhorizontal") / 2.0, body.m("heelbreadth") / 2.0);
    // The inner side (big toe) lies to the left of the right foot.
    let around = [
        [0.0, 0.0],
        [heel * 0.8, length * 0.035],
        [heel, length * 0.12],
        [heel * 0.98, length * 0.28],
        [half * 0.88, length * 0.48],
        [half, length * 0.64],
        [half * 0.95, length * 0.74],
        [half * 0.72, length * 0.84],
        [half * 0.30, length * 0.92],
        [-half * 0.10, length * 0.96],
        [-half * 0.42, length],
        [-half * 0.78, length * 0.98],
        [-half * 0.94, length * 0.90],
        [-half * 0.93, (ball + 0.06 * length).min(length * 0.84)],
        [-half, ball],
        [-half * 0.86, length * 0.58],
        [-half * 0.50, length * 0.42],
        [-heel * 0.82, length * 0.24],
        [-heel, length * 0.12],
        [-heel * 0.8, length * 0.035],
    ];
    let mut lines = vec![smooth(&around, true)];
    // Between the toes.
    for (at, from, to) in [(-0.30, 0.86, 0.955), (0.02, 0.85, 0.93), (0.32, 0.82, 0.895), (0.60, 0.78, 0.855)] {
        lines.push(vec![[half * at, length * from], [half * (at + 0.02), length * to]]);
    }
    lines
}

/// The right hand flat, palm to the eye, fingers up, middle of the wrist's crease at the origin, m.
pub(super) fn hand(body: &Dimensions) -> Vec<Vec<[f64; 2]>> {
    let (length, palm, half) = (body.m("handlength"), body.m("palmlength"), body.m("handbreadth") / 2.0);
    let finger = length - palm;
    let thick = half * 0.235;
    let mut lines = Vec::new();
    // Index to little finger, from the thumb's side, which is to the right of a right palm seen from the front.
    for (middle, from, reach) in [(0.72, 1.0, 0.90), (0.24, 1.02, 1.0), (-0.24, 1.0, 0.93), (-0.71, 0.93, 0.76)] {
        let (x, base) = (half * middle, palm * from);
        let tip = palm + finger * reach;
        lines.push(smooth(
            &[
                [x - thick, base],
                [x - thick * 0.97, base + 0.5 * (tip - base)],
                [x - thick * 0.85, tip - thick],
                [x, tip],
                [x + thick * 0.85, tip - thick],
                [x + thick * 0.97, base + 0.5 * (tip - base)],
                [x + thick, base],
            ],
            false,
        ));
    }
    let (little, index) = (-half * 0.71 - thick, half * 0.72 + thick);
    lines.push(smooth(
        &[
            [little, palm * 0.93],
            [-half, palm * 0.55],
            [-half * 0.86, palm * 0.2],
            [-half * 0.66, 0.0],
            [-half * 0.66, -palm * 0.25],
        ],
        false,
    ));
    // From the index finger down the thumb and round its tip to the wrist.
    lines.push(smooth(
        &[
            [index, palm],
            [half * 1.0, palm * 0.78],
            [half * 1.22, palm * 0.80],
            [half * 1.62, palm * 1.06],
            [half * 1.86, palm * 1.12],
            [half * 1.95, palm * 0.98],
            [half * 1.62, palm * 0.62],
            [half * 1.18, palm * 0.26],
            [half * 0.72, 0.0],
            [half * 0.66, -palm * 0.25],
        ],
        false,
    ));
    // The crease.
    lines.push(smooth(&[[-half * 0.62, 0.0], [0.0, -palm * 0.02], [half * 0.66, 0.0]], false));
    lines
}
