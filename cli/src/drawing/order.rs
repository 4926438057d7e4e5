//! In which order the nodes of a mesh stand from left to right.

/// The nodes `0..count` in an order in which linked ones stand close together: `first` on the left,
/// then by distance from it, then improved by moving single nodes. `ends` are nodes that like to
/// stand on the right.
pub(super) fn order(
    count: usize,
    links: &[[usize; 2]],
    first: usize,
    ends: &[usize],
) -> Vec<usize> {
    let mut order = by_distance(count, links, first);
    // The time grows with the fourth power; a mesh of that size is no crossover any more.
    if count > 30 {
        return order;
    }
    let mut best = cost(&order, links, ends);
    loop {
        let mut improved = false;
        for from in 1..count {
            for to in 1..count {
                let mut trial = order.clone();
                let node = trial.remove(from);
                trial.insert(to, node);
                let cost = cost(&trial, links, ends);
                if cost < best {
                    best = cost;
                    order = trial;
                    improved = true;
                }
            }
        }
        if !improved {
            return order;
        }
    }
}

/// Nodes by the number of links from `first`; unreached ones last.
fn by_distance(count: usize, links: &[[usize; 2]], first: usize) -> Vec<usize> {
    let mut order = Vec::with_capacity(count);
    let mut seen = vec![false; count];
    for start in std::iter::once(first).chain(0..count) {
        if start >= count || seen[start] {
            continue;
        }
        seen[start] = true;
        let mut next = order.len();
        order.push(start);
        while next < order.len() {
            let node = order[next];
            next += 1;
            for link in links {
                let other = match *link {
                    [one, two] if one == node => two,
                    [one, two] if two == node => one,
                    _ => continue,
                };
                if !seen[other] {
                    seen[other] = true;
                    order.push(other);
                }
            }
        }
    }
    order
}

/// How far apart linked nodes stand, with a price for ends that stand on the left: one place is worth
/// a little more than a link that is longer by one.
fn cost(order: &[usize], links: &[[usize; 2]], ends: &[usize]) -> usize {
    let mut place = vec![0; order.len()];
    for (at, node) in order.iter().enumerate() {
        place[*node] = at;
    }
    let spans: usize = (links.iter())
        .map(|[one, two]| place[*one].abs_diff(place[*two]))
        .sum();
    let left: usize = ends.iter().map(|end| order.len() - place[*end]).sum();
    4 * spans + 5 * left
}
