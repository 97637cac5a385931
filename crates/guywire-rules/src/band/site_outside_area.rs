use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{license__assignment, repeater, site};
use guywire_plan::{FieldPath, Known, Row};
use guywire_radio::geodesy::Position;

rule! {
    /// A repeater stands outside the area in which the license grants its output.
    ///
    /// Every assignment of the frequency to a repeater or base station counts; where one of them states no area, nothing is
    /// said. Distances are along the ellipsoid (WGS 84).
    ///
    /// ## On the air
    /// Somebody else may hold the frequency there, and both hear each other's calls.
    ///
    /// ## Source
    /// The license, as written in the plan.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 453.2125
    /// area = { latitude = 44.90, longitude = -68.81, radius_km = 40 }
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 453.2125
    /// area = { latitude = 44.10, longitude = -68.81, radius_km = 40 }
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub SiteOutsideArea = "site-outside-area" { family: Band, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<repeater::Table>, view, out) {
        let Known::Is(carrier) = it.frequency(repeater::tx_mhz) else { return };
        let Known::Is(site) = view.named::<site::Table, _>(it, repeater::site) else { return };
        let (latitude, longitude) = (site.number(site::latitude).value(), site.number(site::longitude).value());
        let position = latitude.zip(longitude).and_then(|(latitude, longitude)| Position::new(latitude, longitude).ok());
        let Some(position) = position.filter(|_| !view.has_unread_licenses()) else { return };
        let of_class = |class: Option<&str>| class.is_none_or(|class| class != "mobile");
        let granted: Vec<_> = view
            .assignments()
            .into_iter()
            .filter(|assignment| assignment.covers(carrier) && of_class(assignment.class()))
            .collect();
        let past = granted.iter().map(|assignment| {
            let (center, radius_km) = assignment.area()?;
            let distance_km = position.distance_km(center);
            (distance_km > radius_km).then_some((distance_km - radius_km, distance_km, radius_km, *assignment))
        });
        let Some(past) = past.collect::<Option<Vec<_>>>() else { return };
        let nearest = past.into_iter().min_by(|a, b| a.0.total_cmp(&b.0).then(a.2.total_cmp(&b.2)));
        let Some((_, distance_km, radius_km, assignment)) = nearest else { return };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(repeater::site.number())),
            format!(
                "{} stands {distance_km:.1} km from the center of the area in which {carrier} MHz is granted, and the area reaches {radius_km} km: others may hold the frequency there. Correct the site, or have it granted there",
                view.called(it.id()),
            ),
        )
        .about(&carrier.0)
        .related(
            Anchor::Value(assignment.license.id(), assignment.key(license__assignment::area)),
            format!("the area of {}", view.called(assignment.license.id())),
        );
    }
}
