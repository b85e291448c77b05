#!/usr/bin/env python3
"""Heating values and densities of the pure compounds in src/engine/blend.rs, by other ways.

Optional, not part of `cargo test`; its results stand in tests/reference/blend.toml.

    python3 -m venv venv && venv/bin/pip install cantera CoolProp
    venv/bin/python tests/outside/fuel_properties.py

cantera 3.2.0 and CoolProp 8.0.0 were used when this was written. Ends with 0, or 2 when it cannot run.
"""

import sys

try:
    import cantera
    import CoolProp
    from CoolProp.CoolProp import PropsSI
except ImportError as missing:
    print(f"{missing}: pip install cantera CoolProp", file=sys.stderr)
    sys.exit(2)

STANDARD_K = 298.15

# Species in cantera's nasa_gas.yaml, fluid in CoolProp, carbon, hydrogen, oxygen.
COMPOUNDS = [
    ("methanol", "CH3OH", "Methanol", 1, 4, 1),
    ("ethanol", "C2H5OH", "Ethanol", 2, 6, 1),
    ("toluene", "C7H8", "Toluene", 7, 8, 0),
    ("n-octane", "C8H18,n-octane", "n-Octane", 8, 18, 0),
    ("n-heptane", "C7H16,n-heptane", "n-Heptane", 7, 16, 0),
]

# Enthalpies of formation of the liquid at 25 C, kJ/mol, from memory (CRC Handbook, NIST WebBook).
RECALLED_LIQUID = {"methanol": -239.2, "ethanol": -277.6, "toluene": 12.4, "n-octane": -250.1, "n-heptane": -224.2}


def formation(species):
    """Enthalpy of formation at 25 C, kJ/mol."""
    return species.thermo.h(STANDARD_K) * 1e-6


def heat_of_vaporisation(fluid):
    """Heat that the saturated liquid takes at 25 C, kJ/mol."""
    vapour, liquid = (PropsSI("Hmolar", "T", STANDARD_K, "Q", quality, fluid) for quality in (1, 0))
    return (vapour - liquid) * 1e-3


def main():
    print(f"cantera {cantera.__version__}, CoolProp {CoolProp.__version__}")
    gas = {species.name: species for species in cantera.Species.list_from_file("nasa_gas.yaml")}
    liquid = {species.name: species for species in cantera.Species.list_from_file("nasa_condensed.yaml")}
    carbon_dioxide, water = formation(gas["CO2"]), formation(gas["H2O"])

    print("lower heating value of the liquid at 25 C, MJ/kg")
    for name, key, fluid, carbon, hydrogen, oxygen in COMPOUNDS:
        if key not in gas:
            print(f"  {name}: {key} is not in nasa_gas.yaml")
            continue
        species = gas[key]
        composition = (species.composition.get("C", 0), species.composition.get("H", 0), species.composition.get("O", 0))
        assert composition == (carbon, hydrogen, oxygen), (name, composition)
        products = carbon * carbon_dioxide + hydrogen / 2 * water
        per_kg = lambda reactant: (reactant - products) / species.molecular_weight
        evaporation = heat_of_vaporisation(fluid)
        from_gas = per_kg(formation(species) - evaporation)
        print(f"  {name}: {from_gas:.4f} (gas {formation(species):.2f}, evaporation {evaporation:.2f} kJ/mol); "
              f"from a recalled enthalpy of the liquid {per_kg(RECALLED_LIQUID[name]):.4f}")
    toluene = liquid["C7H8(L)"]
    print(f"  toluene from the liquid's own polynomial: "
          f"{(formation(toluene) - 7 * carbon_dioxide - 4 * water) / toluene.molecular_weight:.4f}")

    print("density of the liquid, kg/m3, at 15 C and at 20 C")
    for name, _, fluid, *_ in COMPOUNDS:
        cold, warm = (PropsSI("D", "T", kelvin, "P", 101325.0, fluid) for kelvin in (288.15, 293.15))
        print(f"  {name}: {cold:.2f} {warm:.2f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
