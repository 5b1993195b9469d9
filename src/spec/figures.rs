//! Every figure of a sheet with its key, origin and usual range, for the lint.

use super::problem::Place;
use super::sheet::{AxleSpec, FastenerSpec, FrictionBasis, FrictionSpec, Sheet};
use super::sourced::{Origin, Sourced};
use crate::units::{Distance, Length, Torque};

/// One figure of a sheet.
pub(super) struct Figure<'s> {
    /// Dotted key without its unit.
    pub(super) key: String,
    /// Amount in the smallest unit of its quantity.
    pub(super) amount: i64,
    /// Its quantity.
    pub(super) unit: FigureUnit,
    /// Range it usually lies in.
    pub(super) window: Option<Window>,
    /// Where it came from.
    pub(super) origin: &'s Origin,
    /// Where it stands.
    pub(super) place: Place,
}

/// Quantity of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FigureUnit {
    Length,
    Torque,
    Distance,
}

impl FigureUnit {
    pub(super) fn print(self, amount: i64) -> String {
        match self {
            Self::Length => Length::from_nm(amount).to_string(),
            Self::Torque => Torque::from_mnm(amount).to_string(),
            Self::Distance => Distance::from_mm(amount).to_string(),
        }
    }

    /// What an amount would be without one of the usual slips, nearest slip first.
    pub(super) fn slips(self, amount: i64) -> impl Iterator<Item = (&'static str, i64)> {
        let scaled = move |numerator: i64, denominator: i64| {
            let product = i128::from(amount) * i128::from(numerator) / i128::from(denominator);
            i64::try_from(product).unwrap_or(i64::MAX)
        };
        let tenths = [
            ("ten times too large", scaled(1, 10)),
            ("ten times too small", scaled(10, 1)),
            ("a hundred times too large", scaled(1, 100)),
            ("a hundred times too small", scaled(100, 1)),
        ];
        let units = match self {
            Self::Length => [
                ("inches written as millimetres", scaled(254, 10)),
                ("millimetres written as inches", scaled(10, 254)),
            ],
            // 1 lbf·ft = 1.355818 N·m, 1 kgf·m = 9.80665 N·m (NIST SP 811, App. B).
            Self::Torque => [
                ("kgf·m written as N·m", scaled(980_665, 100_000)),
                ("lbf·in written as N·m", scaled(112_985, 1_000_000)),
            ],
            Self::Distance => [
                ("metres written as kilometres", scaled(1, 1_000)),
                (
                    "thousands of kilometres written as kilometres",
                    scaled(1_000, 1),
                ),
            ],
        };
        tenths.into_iter().chain(units)
    }
}

/// A range of usual amounts, ends included.
#[derive(Clone, Copy, Debug)]
pub(super) struct Window {
    pub(super) low: i64,
    pub(super) high: i64,
}

impl Window {
    pub(super) const fn holds(self, amount: i64) -> bool {
        self.low <= amount && amount <= self.high
    }
}

const fn um(low: i64, high: i64) -> Option<Window> {
    Some(Window {
        low: low * 1_000,
        high: high * 1_000,
    })
}

const fn nm(low: i64, high: i64) -> Option<Window> {
    Some(Window {
        low: low * 1_000,
        high: high * 1_000,
    })
}

const fn km(low: i64, high: i64) -> Option<Window> {
    Some(Window {
        low: low * 1_000_000,
        high: high * 1_000_000,
    })
}

/// Every figure of a sheet. The ranges are common practice for road vehicles from small cars to
/// lorries; they only raise questions.
pub(super) fn figures(sheet: &Sheet) -> Vec<Figure<'_>> {
    let mut list = List(Vec::new());
    list.torque("wheel.torque", sheet.wheel.torque.as_ref(), nm(60, 800));
    list.distance(
        "service.distance",
        sheet.service.distance.as_ref(),
        km(1_000, 150_000),
    );
    let retorque = sheet
        .retorque
        .as_ref()
        .and_then(|rule| rule.distance.as_ref());
    list.distance("retorque.distance", retorque, km(20, 500));
    for (index, axle) in sheet.axles.iter().enumerate() {
        list.axle(axle, &format!("axle[{}]", index + 1));
    }
    list.0
}

struct List<'s>(Vec<Figure<'s>>);

impl<'s> List<'s> {
    fn axle(&mut self, axle: &'s AxleSpec, path: &str) {
        let key = |name: &str| format!("{path}.{name}");
        self.length(
            &key("bearing_float_max"),
            axle.bearing_float_max.as_ref(),
            um(5, 250),
        );
        self.length(
            &key("measuring_diameter"),
            axle.measuring_diameter.as_ref(),
            um(150_000, 450_000),
        );
        self.torque(&key("clamp_torque"), axle.clamp_torque.as_ref(), nm(5, 800));
        if let Some(disc) = &axle.disc {
            self.length(&key("disc.new"), disc.new.as_ref(), um(6_000, 60_000));
            self.length(
                &key("disc.discard"),
                disc.discard.as_ref(),
                um(4_000, 58_000),
            );
            self.length(
                &key("disc.machine_to"),
                disc.machine_to.as_ref(),
                um(4_000, 59_000),
            );
            let runout = disc.runout.as_ref().map(|runout| &runout.max);
            self.length(&key("disc.runout_max"), runout, um(15, 250));
            self.length(&key("disc.dtv_max"), disc.dtv_max.as_ref(), um(5, 60));
        }
        if let Some(drum) = &axle.drum {
            self.length(&key("drum.new"), drum.new.as_ref(), um(140_000, 450_000));
            self.length(&key("drum.max"), drum.max.as_ref(), um(140_000, 455_000));
            self.length(
                &key("drum.ovality_max"),
                drum.ovality_max.as_ref(),
                um(20, 500),
            );
        }
        for (friction, name) in [(&axle.pads, "pads"), (&axle.linings, "linings")] {
            if let Some(friction) = friction {
                self.friction(friction, &key(name));
            }
        }
        if let Some(calliper) = &axle.calliper {
            self.fastener(
                &key("calliper.carrier"),
                calliper.carrier.as_ref(),
                nm(25, 450),
            );
            self.fastener(
                &key("calliper.slide_pin"),
                calliper.slide_pin.as_ref(),
                nm(8, 90),
            );
            self.fastener(
                &key("calliper.hose_union"),
                calliper.hose_union.as_ref(),
                nm(8, 60),
            );
        }
    }

    fn friction(&mut self, friction: &'s FrictionSpec, path: &str) {
        // A plate adds 2 mm (a shoe) to 8 mm (a lorry's pad).
        let (new, min) = match &friction.basis {
            Some(FrictionBasis::WithPlate { plate }) => {
                self.length(&format!("{path}.plate"), Some(plate), um(1_000, 12_000));
                (um(4_000, 40_000), um(2_500, 22_000))
            }
            _ => (um(2_500, 30_000), um(500, 10_000)),
        };
        self.length(&format!("{path}.new"), friction.new.as_ref(), new);
        self.length(&format!("{path}.min"), friction.min.as_ref(), min);
    }

    fn fastener(&mut self, path: &str, fastener: Option<&'s FastenerSpec>, window: Option<Window>) {
        self.torque(
            &format!("{path}.torque"),
            fastener.map(|fastener| &fastener.torque),
            window,
        );
    }

    fn length(&mut self, key: &str, figure: Option<&'s Sourced<Length>>, window: Option<Window>) {
        self.add(key, figure, window, FigureUnit::Length, Length::nm);
    }

    fn torque(&mut self, key: &str, figure: Option<&'s Sourced<Torque>>, window: Option<Window>) {
        self.add(key, figure, window, FigureUnit::Torque, Torque::mnm);
    }

    fn distance(
        &mut self,
        key: &str,
        figure: Option<&'s Sourced<Distance>>,
        window: Option<Window>,
    ) {
        self.add(key, figure, window, FigureUnit::Distance, Distance::mm);
    }

    fn add<T: Copy>(
        &mut self,
        key: &str,
        figure: Option<&'s Sourced<T>>,
        window: Option<Window>,
        unit: FigureUnit,
        amount: impl Fn(T) -> i64,
    ) {
        let Some(figure) = figure else { return };
        self.0.push(Figure {
            key: key.to_owned(),
            amount: amount(figure.value),
            unit,
            window,
            origin: &figure.origin,
            place: figure.place,
        });
    }
}
