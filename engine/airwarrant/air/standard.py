"""Standard air and the handful of constants that every formula here shares.

Standard air is dry air of 0.075 lb/ft3, by custom at 70 °F and 14.696 psia. Its specific heat is the trade's 0.24 Btu/(lb °F),
so that the sensible factor is 1.08 Btu/(h cfm °F) exactly.
"""

STANDARD_DENSITY = 0.075 * 0.45359237 / 0.3048**3  # kg/m3; 0.075 lb/ft3, exact
STANDARD_SPECIFIC_HEAT = 0.24 * 4186.8  # J/(kg K); 0.24 Btu(IT)/(lb °F), exact
STANDARD_PRESSURE = 101325.0  # Pa
STANDARD_TEMPERATURE = 273.15 + (70.0 - 32.0) / 1.8  # K
VISCOSITY = 1.8254e-5  # Pa s, air at 70 °F (Sutherland's law)
GAS_CONSTANT_DRY_AIR = 8314.472 / 28.966  # J/(kg K); ASHRAE Fundamentals 2017 ch. 1 eq. 1
