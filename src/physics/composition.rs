//! Heat capacity, conductivity and density of dough from its composition.
//!
//! Computes, at a temperature T in °C: specific heat cp in kJ/(kg K), thermal conductivity k in
//! W/(m K), and density rho in kg/m³ of a gas-free mixture.
//!
//! Source: Choi & Okos (1986), "Effects of temperature and composition on the thermal properties of
//! foods", in *Food Engineering and Process Applications* vol. 1, 93-101: one quadratic in T for each
//! of six components. Mixtures: cp by mass fraction, density by specific volume, conductivity by
//! volume fraction (the parallel model of that paper).
//!
//! Limits: -40 to 150 °C in the source; salt counts as ash; air is not in it.

/// Grams of each component; any total.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Composition {
    /// Water in g.
    pub water: f64,
    /// Protein in g.
    pub protein: f64,
    /// Fat in g.
    pub fat: f64,
    /// Digestible carbohydrate in g.
    pub carbohydrate: f64,
    /// Fibre in g.
    pub fibre: f64,
    /// Ash (minerals, salt) in g.
    pub ash: f64,
}

/// Water in flour, g per g, as sold (common practice, no source: 13-15 %).
pub const FLOUR_MOISTURE: f64 = 0.14;

/// Protein of a flour whose bag was not read, in % (common practice, no source: 11-13 % for bread flour).
pub const USUAL_PROTEIN_PCT: f64 = 12.0;

type Quadratic = [f64; 3];

/// cp, k and rho of one component as quadratics in T (°C).
struct Component {
    cp: Quadratic,
    k: Quadratic,
    rho: Quadratic,
}

// Choi & Okos 1986, table of component properties.
const PROTEIN: Component = Component {
    cp: [2.0082, 1.2089e-3, -1.3129e-6],
    k: [0.178_81, 1.1958e-3, -2.7178e-6],
    rho: [1329.9, -0.518_40, 0.0],
};
const FAT: Component = Component {
    cp: [1.9842, 1.4733e-3, -4.8008e-6],
    k: [0.180_71, -2.7604e-4, -1.7749e-7],
    rho: [925.59, -0.417_57, 0.0],
};
const CARBOHYDRATE: Component = Component {
    cp: [1.5488, 1.9625e-3, -5.9399e-6],
    k: [0.201_41, 1.3874e-3, -4.3312e-6],
    rho: [1599.1, -0.310_46, 0.0],
};
const FIBRE: Component = Component {
    cp: [1.8459, 1.8306e-3, -4.6509e-6],
    k: [0.183_31, 1.2497e-3, -3.1683e-6],
    rho: [1311.5, -0.365_89, 0.0],
};
const ASH: Component = Component {
    cp: [1.0926, 1.8896e-3, -3.6817e-6],
    k: [0.329_62, 1.4011e-3, -2.9069e-6],
    rho: [2423.8, -0.280_63, 0.0],
};
const WATER: Component = Component {
    cp: [4.1762, -9.0864e-5, 5.4731e-6],
    k: [0.571_09, 1.7625e-3, -6.7036e-6],
    rho: [997.18, 3.1439e-3, -3.7574e-3],
};

fn at(q: Quadratic, t: f64) -> f64 {
    q[0] + t * (q[1] + t * q[2])
}

impl Composition {
    /// Wheat flour as sold, `grams` g: 14 % water, the given protein in %, and the rest mostly starch (1.5 % fat, 2.7 %
    /// fibre and 0.6 % ash: common practice, no source).
    pub fn flour(grams: f64, protein_pct: f64) -> Self {
        let (water, protein, fat, fibre, ash) = (FLOUR_MOISTURE, protein_pct / 100.0, 0.015, 0.027, 0.006);
        Self { water, protein, fat, fibre, ash, carbohydrate: 1.0 - water - protein - fat - fibre - ash }
            .scaled(grams)
    }

    /// Pure water, in g.
    pub fn water(grams: f64) -> Self {
        Self { water: grams, ..Self::default() }
    }

    /// Each component times a factor.
    pub fn scaled(self, f: f64) -> Self {
        Self {
            water: self.water * f,
            protein: self.protein * f,
            fat: self.fat * f,
            carbohydrate: self.carbohydrate * f,
            fibre: self.fibre * f,
            ash: self.ash * f,
        }
    }

    /// Both together.
    pub fn plus(self, o: Self) -> Self {
        Self {
            water: self.water + o.water,
            protein: self.protein + o.protein,
            fat: self.fat + o.fat,
            carbohydrate: self.carbohydrate + o.carbohydrate,
            fibre: self.fibre + o.fibre,
            ash: self.ash + o.ash,
        }
    }

    fn parts(&self) -> [(f64, &'static Component); 6] {
        [
            (self.water, &WATER),
            (self.protein, &PROTEIN),
            (self.fat, &FAT),
            (self.carbohydrate, &CARBOHYDRATE),
            (self.fibre, &FIBRE),
            (self.ash, &ASH),
        ]
    }

    /// Total mass in g.
    pub fn grams(&self) -> f64 {
        self.parts().iter().map(|(g, _)| g).sum()
    }

    /// Specific heat in kJ/(kg K) at `t` °C; zero for nothing.
    pub fn specific_heat(&self, t: f64) -> f64 {
        let total = self.grams();
        if total <= 0.0 {
            return 0.0;
        }
        self.parts().iter().map(|(g, c)| g * at(c.cp, t)).sum::<f64>() / total
    }

    /// Heat capacity of the whole in J/K at `t` °C.
    pub fn heat_capacity(&self, t: f64) -> f64 {
        self.parts().iter().map(|(g, c)| g * at(c.cp, t)).sum()
    }

    /// Volume of the gas-free whole in mL at `t` °C.
    pub fn millilitres(&self, t: f64) -> f64 {
        self.parts().iter().map(|(g, c)| 1000.0 * g / at(c.rho, t)).sum()
    }

    /// Density of the gas-free mixture in kg/m³ at `t` °C; NaN for nothing.
    pub fn density(&self, t: f64) -> f64 {
        1000.0 * self.grams() / self.millilitres(t)
    }

    /// Thermal conductivity in W/(m K) at `t` °C, by volume fractions; NaN for nothing.
    pub fn conductivity(&self, t: f64) -> f64 {
        let volume = self.millilitres(t);
        self.parts().iter().map(|(g, c)| at(c.k, t) * 1000.0 * g / at(c.rho, t)).sum::<f64>() / volume
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn together_each_part_is_the_sum() {
        let of = |g: f64| Composition {
            water: g,
            protein: 2.0 * g,
            fat: 3.0 * g,
            carbohydrate: 4.0 * g,
            fibre: 5.0 * g,
            ash: 6.0 * g,
        };
        assert_eq!(of(1.0).plus(of(2.0)), of(3.0));
    }
}
