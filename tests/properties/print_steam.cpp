// Prints what the steam functions give over a grid: function, p [MPa], T [K], value.
#include <cmath>
#include <cstdio>

#include "engine/properties/steam.h"

using namespace deckle;

int main() {
    for (int i = 0; i <= 120; ++i) {
        const double p = 0.001 * std::pow(10.0, i / 120.0 * 4.9);  // 1 kPa to 79 MPa
        for (double t = 275.0; t <= 1073.0; t += 7.0) {
            const double h = steam_h(p, t);
            if (std::isnan(h)) continue;
            std::printf("steam_h %.17g %.17g %.17g\n", p, t, h);
            std::printf("steam_s %.17g %.17g %.17g\n", p, t, steam_s(p, t));
        }
        if (p > 16.529) continue;
        std::printf("liquid_h %.17g 0 %.17g\n", p, liquid_h(p));
        std::printf("vapour_h %.17g 0 %.17g\n", p, vapour_h(p));
        std::printf("liquid_s %.17g 0 %.17g\n", p, liquid_s(p));
        std::printf("vapour_s %.17g 0 %.17g\n", p, vapour_s(p));
        std::printf("boiling_t %.17g 0 %.17g\n", p, boiling_t(p));
    }
    for (double t = 273.15; t < 647.0; t += 2.5)
        std::printf("boiling_p 0 %.17g %.17g\n", t, boiling_p(t));
}
