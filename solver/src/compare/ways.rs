//! Which way of one loudspeaker is which of another.

/// Ways of several loudspeakers in rows: for each loudspeaker the number of its way, lowest row first. The ways of
/// each are given by their drivers' names, lowest first.
///
/// Ways of the same name are the same; of the rest the lowest are the same and the highest are, and those between
/// the same neighbours.
#[must_use]
pub fn way_rows(ways: &[Vec<&str>]) -> Vec<Vec<Option<usize>>> {
    let count = ways.len();
    let mut rows: Vec<Vec<Option<usize>>> = Vec::new();
    for (place, names) in ways.iter().enumerate() {
        let named = |row: &Vec<Option<usize>>, name: &str| {
            (row.iter().enumerate())
                .any(|(other, way)| way.is_some_and(|way| ways[other][way] == name))
        };
        // First by name, so that a likeness of place takes no row from it.
        let mut found: Vec<Option<usize>> = (names.iter())
            .map(|name| rows.iter().position(|row| named(row, name)))
            .collect();
        for way in 0..names.len() {
            if found[way].is_none() {
                let free = |row: usize| !found.contains(&Some(row));
                found[way] =
                    by_place(ways, &rows, way, names.len(), &found).filter(|&row| free(row));
            }
        }
        for way in 0..names.len() {
            match found[way] {
                Some(row) => rows[row][place] = Some(way),
                None => {
                    // Above the way below it.
                    let at = way
                        .checked_sub(1)
                        .and_then(|below| found[below])
                        .map_or(0, |row| row + 1);
                    let mut row = vec![None; count];
                    row[place] = Some(way);
                    rows.insert(at, row);
                    for other in found.iter_mut().flatten() {
                        *other += usize::from(*other >= at);
                    }
                    found[way] = Some(at);
                }
            }
        }
    }
    rows
}

/// The row that a way of another name belongs to by its place.
fn by_place(
    ways: &[Vec<&str>],
    rows: &[Vec<Option<usize>>],
    way: usize,
    count: usize,
    found: &[Option<usize>],
) -> Option<usize> {
    let all = |row: &Vec<Option<usize>>, is: &dyn Fn(usize, usize) -> bool| {
        (row.iter().enumerate())
            .all(|(place, way)| way.is_none_or(|way| is(way, ways[place].len())))
    };
    if way == 0 {
        return rows.iter().position(|row| all(row, &|way, _| way == 0));
    }
    if way + 1 == count {
        return rows
            .iter()
            .position(|row| all(row, &|way, count| way + 1 == count));
    }
    let (below, above) = (found[way - 1]?, found.get(way + 1).copied().flatten()?);
    (above == below + 2).then_some(below + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_of_one_name_or_one_place_are_one() {
        let rows = way_rows(&[
            vec!["low", "mid", "high"],
            vec!["low", "mid", "high-b"],
            vec!["low", "mid"],
            vec!["low", "high"],
        ]);
        let one = Some;
        assert_eq!(
            rows,
            [
                vec![one(0), one(0), one(0), one(0)],
                vec![one(1), one(1), one(1), None],
                vec![one(2), one(2), None, one(1)],
            ]
        );
        let rows = way_rows(&[vec!["low", "high"], vec!["a", "b", "c"]]);
        assert_eq!(
            rows,
            [
                vec![one(0), one(0)],
                vec![None, one(1)],
                vec![one(1), one(2)]
            ]
        );
        let rows = way_rows(&[vec!["a", "b", "c"], vec!["a", "x", "c"]]);
        assert_eq!(rows.len(), 3, "{rows:?}");
    }
}
