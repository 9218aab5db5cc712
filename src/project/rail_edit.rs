//! Rails renamed, copied, mirrored, hung and taken away, with what hangs on them.

use nalgebra::Matrix3;

use super::{Attachment, Fit, Project, Rail, RailFace, RailSection};
use crate::{
    geometry::Vec3,
    units::{mm, mm_point, to_mm},
};

/// How far a copied rail stands from the one that it copies, mm: own choice.
const BESIDE: f64 = 100.0;
/// Places within this are one, m.
const ONE: f64 = mm(0.5);

impl Project {
    /// Names the rail at `index` anew; what hangs on it follows. The names of two rails must differ: `None` where
    /// another one has it, and nothing changes.
    pub fn rename_rail(&mut self, index: usize, name: &str) -> Option<()> {
        if self.frame.iter().enumerate().any(|(at, rail)| at != index && rail.name == name) {
            return None;
        }
        let former = std::mem::replace(&mut self.frame.get_mut(index)?.name, name.to_owned());
        for on in self.frame.iter_mut().flat_map(|rail| [&mut rail.from_on, &mut rail.to_on]).flatten() {
            if on.rail == former {
                name.clone_into(&mut on.rail);
            }
        }
        Some(())
    }

    /// Takes the rail at `index` away. What hung on it stays where it is, its ends as places of their own: the names of
    /// those rails.
    pub fn remove_rail(&mut self, index: usize) -> Vec<String> {
        let name = self.frame.remove(index).name;
        let mut hung = Vec::new();
        for rail in &mut self.frame {
            let ends = [&mut rail.from_on, &mut rail.to_on];
            let taken = ends.into_iter().filter_map(|on| on.take_if(|on| on.rail == name)).count();
            if taken > 0 {
                hung.push(rail.name.clone());
            }
        }
        hung
    }

    /// Puts a copy of the rail at `index` behind the others, beside it: hung where it hangs, a little further along.
    pub fn copy_rail(&mut self, index: usize) {
        let Some(rail) = self.frame.get(index) else { return };
        let mut copy = Rail { name: self.free_rail_name(&rail.name), ..rail.clone() };
        let carrier = rail.attachments().into_iter().flatten().next().and_then(|on| self.rail_named(&on.rail));
        let aside = match carrier {
            Some(carrier) => carrier.axes().column(2).into_owned(),
            // Level and across, the way that frames are wide.
            None if rail.axes()[(2, 2)].abs() > 0.9 => Vec3::x(),
            None => Vec3::z().cross(&rail.axes().column(2)).normalize(),
        };
        for (place, on) in [(&mut copy.from_mm, &mut copy.from_on), (&mut copy.to_mm, &mut copy.to_on)] {
            if let Some(on) = on {
                on.along_mm += BESIDE;
            }
            for axis in 0..3 {
                place[axis] = whole(place[axis] + BESIDE * aside[axis]);
            }
        }
        self.frame.push(copy);
    }

    /// Puts the mirror image of the rail at `index`, across the middle plane of the rig, behind the others: "left
    /// upright" becomes "right upright". It hangs on the mirror images of what carries the rail, where they stand.
    pub fn mirror_rail(&mut self, index: usize) {
        let Some(rail) = self.frame.get(index) else { return };
        let mut image = mirrored(rail);
        image.name = self.free_rail_name(&other_side(&rail.name).unwrap_or_else(|| format!("{} mirrored", rail.name)));
        [image.from_on, image.to_on] = rail.attachments().map(|on| on.and_then(|on| self.mirrored_place(on)));
        self.frame.push(image);
    }

    /// The rail of this name.
    fn rail_named(&self, name: &str) -> Option<&Rail> {
        self.frame.iter().find(|rail| rail.name == name)
    }

    /// A name like this that no rail has.
    pub fn free_rail_name(&self, wanted: &str) -> String {
        let taken = |name: &str| self.rail_named(name).is_some();
        if !taken(wanted) {
            return wanted.to_owned();
        }
        let (stem, number) = match wanted.rsplit_once(' ').map(|(stem, last)| (stem, last.parse::<usize>())) {
            Some((stem, Ok(number))) => (stem, number),
            _ => (wanted, 1),
        };
        // One of these is free: there are more of them than rails.
        let mut next = (1..=self.frame.len() + 1).map(|more| format!("{stem} {}", number.saturating_add(more)));
        next.find(|name| !taken(name)).unwrap_or_default()
    }

    /// The place on the mirror image of a carrier that mirrors a place on it, if a rail stands there.
    fn mirrored_place(&self, on: &Attachment) -> Option<Attachment> {
        let carrier = self.rail_named(&on.rail)?;
        let image = mirrored(carrier);
        let slots = carrier.slots(on.side);
        // Left and right change places, up stays up.
        let (side, level) = match on.side {
            RailFace::Left => (RailFace::Right, false),
            RailFace::Right => (RailFace::Left, false),
            same => (same, true),
        };
        let slot = if level && on.slot > 0 { (slots + 1).saturating_sub(on.slot) } else { on.slot };
        let sideways_mm = if level { 0.0 - on.sideways_mm } else { on.sideways_mm };
        let same = Attachment { side, slot, sideways_mm, ..on.clone() };
        // A rail that runs across the middle plane is its own image, from its other end.
        let turned = Attachment {
            side: on.side,
            slot: on.slot,
            sideways_mm: on.sideways_mm,
            along_mm: whole(to_mm(carrier.length()) - on.along_mm),
            ..on.clone()
        };
        self.frame.iter().find_map(|rail| {
            let place = if stands_as(rail, &image, false) {
                &same
            } else if stands_as(rail, &image, true) {
                &turned
            } else {
                return None;
            };
            Some(Attachment { rail: rail.name.clone(), ..place.clone() })
        })
    }

    /// Whether the rail at `index` may hang on the one at `carrier`: it is another one, and doesn't itself hang on it.
    pub fn can_hang(&self, index: usize, carrier: usize) -> bool {
        let mut seen = vec![false; self.frame.len()];
        let mut next = vec![carrier];
        while let Some(at) = next.pop() {
            if at == index {
                return false;
            }
            if self.frame.get(at).is_none() || std::mem::replace(&mut seen[at], true) {
                continue;
            }
            let carriers = self.frame[at].attachments().into_iter().flatten();
            next.extend(carriers.filter_map(|on| self.frame.iter().position(|rail| rail.name == on.rail)));
        }
        self.frame.get(carrier).is_some()
    }

    /// Hangs an end (0 `from`, 1 `to`) of the rail at `index` on the one at `carrier`, at the place nearest to where it
    /// is.
    pub fn hang_rail(&mut self, index: usize, end: usize, carrier: usize) {
        if !self.can_hang(index, carrier) {
            return;
        }
        let place = nearest_place(&self.frame[carrier], &self.frame[index], end);
        let rail = &mut self.frame[index];
        *(if end == 0 { &mut rail.from_on } else { &mut rail.to_on }) = Some(place);
    }
}

/// The place on `carrier` nearest to where an end of `rail` is.
fn nearest_place(carrier: &Rail, rail: &Rail, end: usize) -> Attachment {
    let axes = carrier.axes();
    let at = mm_point([rail.from_mm, rail.to_mm][end]);
    let own = axes.transpose() * (at - mm_point(carrier.from_mm));
    let half = carrier.section_mm.map(|size| mm(size) / 2.0);
    // Beside the face that it stands out from most.
    let outward = usize::from(own.y.abs() - half[1] > own.x.abs() - half[0]);
    let side = match (outward, own[outward] >= 0.0) {
        (0, true) => RailFace::Left,
        (0, false) => RailFace::Right,
        (_, true) => RailFace::Top,
        (_, false) => RailFace::Bottom,
    };
    // What runs along the face lies on it, what comes out of it stands against it.
    let runs_out = axes.column(outward).dot(&rail.axes().column(2)).abs();
    let fit = if runs_out > 0.5 { Fit::Against } else { Fit::Across };
    let across = to_mm(own[1 - outward]);
    let (slots, pitch) = (carrier.slots(side), RailSection::of(carrier).pitch_mm);
    let of_slot = |slot: u32| match slot {
        0 => 0.0,
        slot => pitch * (f64::from(slot - 1) - f64::from(slots - 1) / 2.0),
    };
    let slot = (0..=if slots > 1 { slots } else { 0 })
        .min_by(|&a, &b| (across - of_slot(a)).abs().total_cmp(&(across - of_slot(b)).abs()))
        .unwrap_or(0);
    let aside = across - of_slot(slot);
    Attachment {
        rail: carrier.name.clone(),
        side,
        slot,
        along_mm: whole(to_mm(own.z).clamp(0.0, to_mm(carrier.length()))),
        // No further than the face is wide: the end comes to the rail.
        sideways_mm: whole(aside.clamp(-to_mm(half[1 - outward]), to_mm(half[1 - outward]))),
        fit,
    }
}

/// To a tenth, without a sign on a zero.
fn whole(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

/// A rail's image across the middle plane, with places of its own and the same name.
fn mirrored(rail: &Rail) -> Rail {
    let other = |[x, y, z]: [f64; 3]| [x, 0.0 - y, z];
    Rail {
        from_mm: other(rail.from_mm),
        to_mm: other(rail.to_mm),
        roll_deg: 0.0 - rail.roll_deg,
        from_on: None,
        to_on: None,
        ..rail.clone()
    }
}

/// True where a rail stands as another one does, seen from the same end or from its other one.
fn stands_as(rail: &Rail, other: &Rail, turned: bool) -> bool {
    let near = |a: [f64; 3], b: [f64; 3]| (mm_point(a) - mm_point(b)).norm() < ONE;
    let (from, to) = if turned { (other.to_mm, other.from_mm) } else { (other.from_mm, other.to_mm) };
    // Seen from its other end left is right.
    let turn = if turned { Matrix3::from_diagonal(&Vec3::new(-1.0, 1.0, -1.0)) } else { Matrix3::identity() };
    let alike = (rail.axes() - other.axes() * turn).abs().max() < 1e-6;
    let section = (0..2).all(|i| (rail.section_mm[i] - other.section_mm[i]).abs() < 0.05);
    near(rail.from_mm, from) && near(rail.to_mm, to) && alike && section
}

/// "left upright" → "right upright", `None` where a name names no side.
fn other_side(name: &str) -> Option<String> {
    let swap = |word: &str| {
        Some(match word {
            "left" => "right",
            "right" => "left",
            "Left" => "Right",
            "Right" => "Left",
            "LEFT" => "RIGHT",
            "RIGHT" => "LEFT",
            _ => return None,
        })
    };
    let mut found = false;
    let words = name.split(' ').map(|word| {
        let bare = word.trim_matches(|c: char| !c.is_alphanumeric());
        match swap(bare) {
            Some(other) => {
                found = true;
                word.replacen(bare, other, 1)
            }
            None => word.to_owned(),
        }
    });
    let words: Vec<String> = words.collect();
    found.then(|| words.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Checked, parse};

    fn club() -> Project {
        parse(include_str!("../../assets/club_rig.ron")).unwrap().into_inner()
    }

    fn index(project: &Project, name: &str) -> usize {
        project.frame.iter().position(|rail| rail.name == name).unwrap()
    }

    fn places(project: &Project, name: &str) -> [[f64; 3]; 2] {
        let rail = &project.frame[index(project, name)];
        [rail.from_mm, rail.to_mm]
    }

    fn near(a: [[f64; 3]; 2], b: [[f64; 3]; 2]) -> bool {
        a.as_flattened().iter().zip(b.as_flattened()).all(|(a, b)| (a - b).abs() < 1e-6)
    }

    #[test]
    fn a_new_name_is_followed_by_all_that_hang_on_it_and_a_taken_one_is_refused() {
        let mut project = club();
        let before = project.clone();
        let base = index(&project, "left base");
        assert!(project.rename_rail(base, "right base").is_none());
        assert_eq!(project, before);
        let hung = |project: &Project, name: &str| {
            project.frame.iter().flat_map(Rail::attachments).flatten().filter(|on| on.rail == name).count()
        };
        let count = hung(&project, "left base");
        assert!(count > 3);
        project.rename_rail(base, "port side").unwrap();
        assert_eq!((hung(&project, "left base"), hung(&project, "port side")), (0, count));
        let renamed = Checked::new(project).unwrap();
        let same = |a: &Rail, b: &Rail| near([a.from_mm, a.to_mm], [b.from_mm, b.to_mm]);
        assert!(renamed.frame.iter().zip(&before.frame).all(|(a, b)| same(a, b)));
    }

    #[test]
    fn what_hung_on_a_rail_that_is_taken_away_stays_where_it_was_and_is_told() {
        let mut project = club();
        let before = project.clone();
        let told = project.remove_rail(index(&before, "right base"));
        assert!(told.iter().any(|name| name == "rear cross member"), "{told:?}");
        let after = Checked::new(project).unwrap().into_inner();
        assert_eq!(after.frame.len() + 1, before.frame.len());
        for rail in &after.frame {
            assert!(near(places(&after, &rail.name), places(&before, &rail.name)), "{}", rail.name);
            assert!(rail.attachments().into_iter().flatten().all(|on| on.rail != "right base"));
        }
    }

    /// The demo was drawn symmetric by hand: its right rails are what the left ones mirror to, whether they hang on a
    /// base rail or on a rail that runs across.
    #[test]
    fn a_left_rail_mirrors_to_the_right_one_that_was_drawn_by_hand() {
        let drawn = club();
        for (left, right) in [("left upright", "right upright"), ("left screen post", "right screen post")] {
            let mut project = drawn.clone();
            project.mirror_rail(index(&project, left));
            assert_eq!(project.frame.last().unwrap().name, format!("{right} 2"));
            // In the place of the drawn one, with its name.
            let image = project.frame.pop().unwrap();
            let at = index(&project, right);
            let name = std::mem::replace(&mut project.frame[at], Rail { name: right.to_owned(), ..image }).name;
            assert_eq!(name, right);
            let project = Checked::new(project).unwrap().into_inner();
            assert!(near(places(&project, right), places(&drawn, right)), "{right}");
        }
    }

    #[test]
    fn a_mirrored_rail_hangs_on_the_mirror_image_of_its_carrier() {
        let mut project = club();
        let upright = index(&project, "left upright");
        project.frame[upright].from_on.as_mut().unwrap().sideways_mm = 5.0;
        project.mirror_rail(upright);
        let on = project.frame.last().unwrap().from_on.clone().unwrap();
        assert_eq!((on.rail.as_str(), on.side, on.along_mm), ("right base", RailFace::Top, 800.0));
        assert!((on.sideways_mm + 5.0).abs() < 1e-12, "five to the left is five to the right");
        let project = Checked::new(project).unwrap();
        let [from, image] = [&project.frame[upright], project.frame.last().unwrap()].map(|rail| rail.from_mm);
        assert!((from[1] + image[1]).abs() < 1e-6 && (from[0] - image[0]).abs() < 1e-6, "{from:?} {image:?}");
    }

    /// A rail across the middle is its own image: 40 mm from its right end becomes 40 mm from its left one.
    #[test]
    fn what_hangs_on_a_cross_member_hangs_on_its_other_half() {
        let mut project = club();
        let cross = index(&project, "middle cross member");
        let mut stub = Rail::between("left stub", [40.0, 40.0], [0.0; 3], [800.0, 200.0, 500.0]);
        stub.from_on = Some(Attachment {
            rail: project.frame[cross].name.clone(),
            side: RailFace::Top,
            slot: 0,
            along_mm: 420.0,
            sideways_mm: 0.0,
            fit: Fit::Against,
        });
        project.frame.push(stub);
        let mut project = Checked::new(project).unwrap().into_inner();
        project.mirror_rail(index(&project, "left stub"));
        let on = project.frame.last().unwrap().from_on.clone().unwrap();
        assert_eq!(on.rail, "middle cross member");
        assert!((on.along_mm - 40.0).abs() < 1e-6, "460 mm long: {}", on.along_mm);
        let project = Checked::new(project).unwrap().into_inner();
        let ([from, to], [left, left_to]) = (places(&project, "right stub"), places(&project, "left stub"));
        assert!(near([from, to], [left, left_to].map(|[x, y, z]| [x, -y, z])));
    }

    #[test]
    fn sides_are_swapped_in_names_as_words() {
        assert_eq!(other_side("left upright").as_deref(), Some("right upright"));
        assert_eq!(other_side("Brace, Right (front)").as_deref(), Some("Brace, Left (front)"));
        assert_eq!(other_side("leftover"), None);
    }

    #[test]
    fn a_copy_stands_beside_with_a_name_of_its_own() {
        let mut project = club();
        project.copy_rail(index(&project, "rear seat strip"));
        let copy = project.frame.last().unwrap();
        assert_eq!(copy.name, "rear seat strip 2");
        assert!((copy.from_on.as_ref().unwrap().along_mm - 440.0).abs() < 1e-9, "340 and 100");
        let checked = Checked::new(project).unwrap().into_inner();
        let ([from, _], [first, _]) = (places(&checked, "rear seat strip 2"), places(&checked, "rear seat strip"));
        assert!((from[0] - first[0] - 100.0).abs() < 1e-6);
    }

    /// Ends that are let go and hung again come back to where they were.
    #[test]
    fn an_end_is_hung_at_the_place_nearest_to_it() {
        let drawn = club();
        for name in ["rear cross member", "rear seat strip", "left upright"] {
            let mut project = drawn.clone();
            let at = index(&project, name);
            let on = project.frame[at].from_on.take().unwrap();
            let carrier = index(&project, &on.rail);
            assert!(project.can_hang(at, carrier) && !project.can_hang(at, at));
            project.hang_rail(at, 0, carrier);
            let hung = project.frame[at].from_on.clone().unwrap();
            assert_eq!((hung.side, hung.fit), (on.side, on.fit), "{name}");
            let project = Checked::new(project).unwrap().into_inner();
            assert!(near(places(&project, name), places(&drawn, name)), "{name}");
        }
        // What carries it cannot hang on it.
        let (base, upright) = (index(&drawn, "left base"), index(&drawn, "left upright"));
        assert!(!drawn.can_hang(base, upright));
    }
}
