"""Coefficients of the water curves: written by ``tools/fit_water.py``, not by hand.

Polynomials in ``x = (T_K - T_MIDDLE_K) / T_HALF_WIDTH_K``, highest power first, fitted to IAPWS-95
(IAPWS R6-95(2018), viscosity IAPWS R12-08, conductivity IAPWS R15-11) from 273.15 K to 450.0 K.
"""

T_LOW_K = 273.15
T_HIGH_K = 450.0
T_MIDDLE_K = 361.575
T_HALF_WIDTH_K = 88.42500000000001

# kg/m3, at one atmosphere or saturation; largest relative error of the fit 6.8e-06
LIQUID_DENSITY = (
    0.675705407699,
    -0.898091135827,
    0.176514176229,
    -1.60740767069,
    3.17003607514,
    -18.7628817241,
    -58.773800179,
    966.364029377,
)

# J/(kg K), liquid enthalpy above 273.15 K over (T - 273.15 K); largest relative error of the fit 1.2e-04
MEAN_HEAT = (
    6.58382777558,
    -11.0490322359,
    5.52144620554,
    3.47159179953,
    26.4283059751,
    15.971439004,
    4189.48667599,
)

# density of dry saturated steam times R T / p; largest relative error of the fit 4.8e-06
VAPOUR_CORRECTION = (
    -2.62840031945e-05,
    0.00117483863359,
    0.0090694284159,
    0.0233103489911,
    0.0266944091208,
    1.01184393841,
)

# J/kg, on the liquid's zero; largest relative error of the fit 9.7e-07
VAPOUR_ENTHALPY = (
    222.54216172,
    -1168.70243326,
    -8149.94617532,
    -18140.2939518,
    144684.696684,
    2657002.81636,
)

# 1/(Pa s), one over the viscosity; largest relative error of the fit 4.0e-04
LIQUID_FLUIDITY = (
    4.95781837178,
    22.6680668342,
    8.95358458889,
    -240.593301992,
    402.993567571,
    3202.35888655,
    3125.61427556,
)

# W/(m K); largest relative error of the fit 3.0e-04
LIQUID_CONDUCTIVITY = (
    0.00579751138427,
    -0.00541911890443,
    0.00535296580953,
    -0.0520802132716,
    0.0473721140711,
    0.671854016412,
)
