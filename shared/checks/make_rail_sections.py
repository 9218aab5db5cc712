"""Writes shared/rail_sections.csv: properties of idealised T-slot sections.

Needs sectionproperties (3.10.2). A 40 mm module as drawn below, heavy or light; other pitches scale it, so that areas
go with the square and moments of area with the fourth power of the pitch. No maker's catalogue was used.

    python make_rail_sections.py > ../rail_sections.csv
"""
import math
from shapely.geometry import Polygon, box
from shapely.ops import unary_union
from sectionproperties.pre import Geometry
from sectionproperties.analysis import Section

GRADES = {"heavy": dict(lip=4.5, wall=4.0, a=7.0, corner=0.0), "light": dict(lip=3.0, wall=2.2, a=7.5, corner=6.0)}


def module_section(columns, rows, grade):
    """`columns` modules across and `rows` modules up, 40 mm pitch, mm."""
    g = GRADES[grade]
    width, height = 40.0 * columns, 40.0 * rows
    xs = [40.0 * (i - (columns - 1) / 2) for i in range(columns)]
    zs = [40.0 * (i - (rows - 1) / 2) for i in range(rows)]
    body = box(-width / 2, -height / 2, width / 2, height / 2)
    # Half widths and depths: mouth through the lip, cavity to 7.5, taper to 9 wide at 12.25.
    half = [(4.1, 0.0), (4.1, g["lip"]), (10.0, g["lip"]), (10.0, 7.5), (4.5, 12.25)]
    cut = []
    for x in xs:
        for sign in (1, -1):
            points = [(x - u, sign * (height / 2 - d)) for u, d in half]
            points += [(x + u, sign * (height / 2 - d)) for u, d in reversed(half)]
            cut.append(Polygon(points))
    for z in zs:
        for sign in (1, -1):
            points = [(sign * (width / 2 - d), z - u) for u, d in half]
            points += [(sign * (width / 2 - d), z + u) for u, d in reversed(half)]
            cut.append(Polygon(points))
    for x in xs:
        for z in zs:
            ring = [(x + 3.4 * math.cos(t), z + 3.4 * math.sin(t)) for t in [2 * math.pi * k / 64 for k in range(64)]]
            cut.append(Polygon(ring))
    # A chamber between two neighbours, u across the row and t from their boundary.
    xw, a = 20.0 - g["wall"], g["a"]
    both = columns > 1 and rows > 1

    def chamber(outer_left, outer_right):
        left = [(-10, -a), (-xw, -a), (-xw, a), (-10, a)] if outer_left else [(-10, -a), (-10, a)]
        right = [(10, a), (xw, a), (xw, -a), (10, -a)] if outer_right else [(10, a), (10, -a)]
        return left + [(-4.5, 12.25), (4.5, 12.25)] + right + [(4.5, -12.25), (-4.5, -12.25)]

    for row, z in enumerate(zs[:-1]):
        for column, x in enumerate(xs):
            ends = chamber(not both or column == 0, not both or column == columns - 1)
            cut.append(Polygon([(x + u, z + 20 + t) for u, t in ends]))
    for column, x in enumerate(xs[:-1]):
        for row, z in enumerate(zs):
            ends = chamber(not both or row == 0, not both or row == rows - 1)
            cut.append(Polygon([(x + 20 + t, z + u) for u, t in ends]))
    if g["corner"]:
        c = g["corner"] / 2
        for sx in (1, -1):
            for sz in (1, -1):
                x, z = sx * (width / 2 - 5), sz * (height / 2 - 5)
                cut.append(box(x - c, z - c, x + c, z + c))
    return body.difference(unary_union(cut))


def properties(polygon):
    geometry = Geometry(polygon)
    geometry.create_mesh(mesh_sizes=[1.0])
    section = Section(geometry)
    section.calculate_geometric_properties()
    section.calculate_warping_properties()
    ixx, iyy, _ = section.get_ic()
    asx, asy = section.get_as()
    return section.get_area(), ixx, iyy, section.get_j(), asx, asy


SIZES = [(1, 1), (1, 2), (1, 3), (1, 4), (2, 2)]
SERIES = {20: ["light"], 30: ["light"], 40: ["light", "heavy"], 45: ["light"]}
USED = {20: [(1, 1), (1, 2), (1, 3), (1, 4)], 30: [(1, 1), (1, 2)], 40: SIZES, 45: [(1, 1), (1, 2)]}
SLOT = {20: (6, "M5"), 30: (8, "M6"), 40: (8, "M8"), 45: (10, "M8")}
print("name,across_mm,upright_mm,pitch_mm,slot_mm,lip_mm,bolt,area_mm2,i_strong_mm4,i_weak_mm4,j_mm4,shear_strong_mm2,"
      "shear_weak_mm2,w_strong_mm3,w_weak_mm3,kg_per_m,usual,sure,source")
known = {}
for pitch, grades in SERIES.items():
    for size in USED[pitch]:
        for grade in grades:
            if (size, grade) not in known:
                known[size, grade] = properties(module_section(*size, grade))
            s = pitch / 40
            area, strong, weak, j, shear_weak, shear_strong = known[size, grade]
            area, shear_weak, shear_strong = [v * s**2 for v in (area, shear_weak, shear_strong)]
            strong, weak, j = [v * s**4 for v in (strong, weak, j)]
            across, upright = size[0] * pitch, size[1] * pitch
            slot, bolt = SLOT[pitch]
            lip = GRADES[grade]["lip"] * s
            usual = "true" if grade == "light" else "false"
            if pitch == 40:
                sure = "computed"
                source = "Idealised slot-8 section: area and moments exact for its polygon; J and shear areas by sectionproperties 3.10.2 on a 1 mm2 mesh"
            else:
                sure = "scaled"
                source = f"The idealised 40 mm section scaled to {pitch} mm; inside the ranges met across makers (common practice; no published source)"
            print(f"{across}x{upright}-{grade},{across},{upright},{pitch},{slot},{lip:g},{bolt},{area:.2f},{strong:.0f},{weak:.0f},"
                  f"{j:.0f},{shear_strong:.0f},{shear_weak:.0f},{strong / (upright / 2):.0f},{weak / (across / 2):.0f},"
                  f"{area * 2700e-6:.4f},{usual},{sure},{source}")
