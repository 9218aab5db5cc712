"""Reference poses of an arm and a leg from the rigid-body library Pinocchio (PyPI: pin).

Run:  pip install pin  &&  python3 make_forward_kinematics.py > forward_kinematics.csv
The chains are built joint by joint from the definitions in the crate's documentation: standing upright, arms
hanging with thumbs forward; x forward, y left, z up.
"""
import numpy as np
import pinocchio as pin

ARM = (0.29, 0.26)   # upper arm, forearm, m
LEG = (0.43, 0.41)   # thigh, shank, m


def chain(joints, tips):
    """joints: list of (axis, offset from the parent joint); tips: joint indices whose placements are printed."""
    model = pin.Model()
    parent = 0
    for index, (axis, offset) in enumerate(joints):
        joint = pin.JointModelRevoluteUnaligned(*[float(a) for a in axis])
        parent = model.addJoint(parent, joint, pin.SE3(np.eye(3), np.array(offset, float)), f"j{index}")
    return model, tips


def build(limb, side):
    s = 1.0 if side == "left" else -1.0
    o = (0.0, 0.0, 0.0)
    if limb == "arm":
        upper, fore = ARM
        return chain([
            ((0, -1, 0), o), ((s, 0, 0), o), ((0, 0, -s), o),
            ((0, -1, 0), (0, 0, -upper)),
            ((0, 0, -s), (0, 0, -fore)), ((-s, 0, 0), o), ((0, -1, 0), o),
        ], (3, 4, 7))
    thigh, shank = LEG
    return chain([
        ((0, -1, 0), o), ((s, 0, 0), o), ((0, 0, -s), o),
        ((0, 1, 0), (0, 0, -thigh)),
        ((0, -1, 0), (0, 0, -shank)), ((-s, 0, 0), o), ((0, 0, s), o),
    ], (3, 4, 7))


print("# Pinocchio", pin.__version__, "; angles in rad, places in m; last frame's axes x and z")
print("limb,side," + ",".join(f"q{i}" for i in range(7)) + ",mid_x,mid_y,mid_z,end_x,end_y,end_z,ax,ay,az,cx,cy,cz")
rng = np.random.default_rng(20120412)
for limb in ("arm", "leg"):
    for side in ("left", "right"):
        model, (_, mid, end) = build(limb, side)
        data = model.createData()
        for _ in range(12):
            q = rng.uniform(-1.2, 1.2, 7)
            q[3] = rng.uniform(0.05, 2.2)
            pin.forwardKinematics(model, data, q)
            m, e = data.oMi[mid], data.oMi[end]
            row = [*q, *m.translation, *e.translation, *e.rotation[:, 0], *e.rotation[:, 2]]
            print(f"{limb},{side}," + ",".join(f"{v:.9f}" for v in row))
