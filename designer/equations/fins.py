"""A heatsink by its dimensions: air of a high place, upright plate fins, what they shed."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var
from designer.equations.thermal import C_sink, L_plate, Nu, R_sa, Ra, g, h, k_air

_ISA = "standard atmosphere, ISO 2533, from memory"
z = var("z", "m", "height above sea level", sign="nonnegative")
T_sea = constant("T_sea", "K", "temperature at sea level", 288.15, _ISA)
lapse = constant("lapse", "K/m", "fall of temperature with height", 0.0065, _ISA)
R_air = constant("R_air", "J/(kg*K)", "gas constant of dry air", 287.05287, _ISA)
d_air = var("d_air", "1", "density of the air over that at sea level, both equally warm", sign="positive")
AIR_DENSITY = Formula(
    name="air-density-ratio",
    equation=equal(d_air.symbol, (1 - lapse.symbol * z.symbol / T_sea.symbol)
                   ** (g.symbol / (R_air.symbol * lapse.symbol))),
    variables=(d_air, lapse, z, T_sea, g, R_air),
    source="derived: pressure over height where temperature falls in a straight line (ISO 2533); of air equally "
           "warm, density goes with pressure",
    holds_when="up to 11 km",
)
Ra_sea = var("Ra_sea", "1", "Rayleigh number at sea level", sign="positive")
RAYLEIGH_ALOFT = Formula(
    name="rayleigh-number-at-a-height",
    equation=equal(Ra.symbol, d_air.symbol**2 * Ra_sea.symbol),
    variables=(Ra, d_air, Ra_sea),
    source="derived: viscosity, conductivity and heat of a gas by mass do not change with pressure, so kinematic "
           "viscosity and diffusivity both go with 1/density; convection then falls with density to the power 1/2 "
           "(laminar, Ra^(1/4)) to 2/3 (turbulent, Ra^(1/3)), radiation not at all",
    holds_when="air as an ideal gas",
)

R_sea = var("R_sea", "K/W", "thermal resistance as told, at sea level", sign="positive")
RESISTANCE_ALOFT = Formula(
    name="sink-resistance-at-a-height", equation=equal(R_sa.symbol, R_sea.symbol / d_air.symbol),
    variables=(R_sa, R_sea, d_air),
    source="derived: between fins at the best gap the Nusselt number goes with the Elenbaas number to the power 1/2 "
           "(Bar-Cohen and Rohsenow's form at El = 2.714⁴), and that with density squared: convection goes with "
           "density; fins further apart lose less, radiation nothing",
    holds_when="gaps no narrower than the best; radiation not counted: an upper bound",
)

_BAR_COHEN = "A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106 (1984), isothermal plates"
S = var("S", "m", "gap between two fins", sign="positive")
El = var("El", "1", "Elenbaas number, of the channel between two fins", sign="positive")
ELENBAAS = Formula(
    name="elenbaas-number",
    equation=equal(El.symbol, Ra.symbol * (S.symbol / L_plate.symbol) ** 4),
    variables=(El, Ra, S, L_plate),
    source="derived: Rayleigh number of the gap times gap over height, W. Elenbaas 1942",
    holds_when="Ra of the height of the fins",
)
CHANNEL = Formula(
    name="fin-channel-nusselt",
    equation=equal(Nu.symbol, (576 / El.symbol**2 + sp.Float("2.873") / sp.sqrt(El.symbol)) ** sp.Rational(-1, 2)),
    variables=(Nu, El),
    source=f"{_BAR_COHEN} (from memory)",
    holds_when="upright channel open at top and bottom, natural convection; Nu of the gap",
)
CHANNEL_CONVECTION = Formula(
    name="fin-channel-coefficient",
    equation=equal(h.symbol, Nu.symbol * k_air.symbol / S.symbol),
    variables=(h, Nu, k_air, S),
    source="derived: definition of the Nusselt number, of the gap",
    holds_when="air",
)
BEST_GAP = Formula(
    name="best-fin-gap",
    equation=equal(S.symbol, sp.Float("2.714") * L_plate.symbol / Ra.symbol ** sp.Rational(1, 4)),
    variables=(S, L_plate, Ra),
    source=f"{_BAR_COHEN} (formula from memory): most heat from a given width, fins thin",
    holds_when="upright fins, natural convection",
)

W_sink = var("W_sink", "m", "width of the heatsink", sign="positive")
n_fin = var("n_fin", "1", "number of fins", sign="positive")
t_fin = var("t_fin", "m", "thickness of a fin", sign="positive")
H_fin = var("H_fin", "m", "height of a fin above its base", sign="positive")
GAP = Formula(
    name="fin-gap",
    equation=equal(S.symbol, (W_sink.symbol - n_fin.symbol * t_fin.symbol) / (n_fin.symbol - 1)),
    variables=(S, W_sink, n_fin, t_fin),
    source="derived: the width less the fins, shared by the channels",
    holds_when="two fins or more, one at each edge",
)
k_al = constant("k_al", "W/(m*K)", "thermal conductivity of extruded aluminium, lower end", 180.0,
                "material tables, 180 to 210, from memory")
eta_fin = var("eta_fin", "1", "what a fin sheds over what it would shed at the base's temperature", sign="positive")
_SLENDER = H_fin.symbol * sp.sqrt(2 * h.symbol / (k_al.symbol * t_fin.symbol))
FIN_EFFICIENCY = Formula(
    name="fin-efficiency",
    equation=equal(eta_fin.symbol, sp.tanh(_SLENDER) / _SLENDER),
    variables=(eta_fin, H_fin, h, k_al, t_fin),
    source="derived: conduction along a straight fin that sheds on both faces, its tip not",
    holds_when="h the same all over the fin",
)
h_gap = var("h_gap", "W/(m**2*K)", "convection coefficient between the fins", sign="positive")
h_side = var("h_side", "W/(m**2*K)", "convection coefficient of the two outer faces", sign="positive")
h_rad = var("h_rad", "W/(m**2*K)", "radiation coefficient", sign="nonnegative")
FIN_RESISTANCE = Formula(
    name="extrusion-thermal-resistance",
    equation=equal(R_sa.symbol, 1 / (L_plate.symbol * (
        (n_fin.symbol - 1) * (2 * eta_fin.symbol * H_fin.symbol + S.symbol) * h_gap.symbol
        + 2 * eta_fin.symbol * H_fin.symbol * h_side.symbol
        + (W_sink.symbol + 2 * eta_fin.symbol * H_fin.symbol) * h_rad.symbol))),
    variables=(R_sa, L_plate, n_fin, eta_fin, H_fin, S, h_gap, h_side, W_sink, h_rad),
    source="derived: channels and outer faces shed by convection; of radiation only the envelope counts, front "
           "and two sides, as fins see each other. The back, on which the devices sit, sheds nothing (safe side)",
    holds_when="base at one temperature, fins upright, eta_fin of the sum of the coefficients",
)
PLATE_RESISTANCE = Formula(
    name="upright-plate-thermal-resistance",
    equation=equal(R_sa.symbol, 1 / (2 * L_plate.symbol * W_sink.symbol * h.symbol)),
    variables=(R_sa, L_plate, W_sink, h),
    source="derived: heat flow h·A·ΔT from both faces",
    holds_when="the plate is at one temperature (aluminium of 2 mm or more), both faces free",
)
A_env = var("A_env", "m**2", "area that radiates to the room", sign="positive")
c_al = constant("c_al", "J/(m**3*K)", "heat capacity of aluminium by volume", 2.4e6, "material tables, from memory")
t_base = constant("t_base", "m", "thickness of base or plate, least", 2e-3, "common practice, no source")
METAL_CAPACITY = Formula(
    name="heat-capacity-of-a-heatsink",
    equation=equal(C_sink.symbol, c_al.symbol * L_plate.symbol * (
        W_sink.symbol * t_base.symbol + n_fin.symbol * t_fin.symbol * H_fin.symbol)),
    variables=(C_sink, c_al, L_plate, W_sink, t_base, n_fin, t_fin, H_fin),
    source="derived: volume of base and fins times heat capacity by volume",
    holds_when="aluminium; base of 2 mm or more, so the heat capacity is the least",
)
ENVELOPE = Formula(
    name="radiating-envelope-of-an-extrusion",
    equation=equal(A_env.symbol, L_plate.symbol * (W_sink.symbol + 2 * H_fin.symbol)),
    variables=(A_env, L_plate, W_sink, H_fin),
    source="derived: front and two sides; the back, on which the devices sit, is left out",
    holds_when="fins see each other",
)
