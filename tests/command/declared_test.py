"""What declarations say of the studies behind them, against hand arithmetic on the invented figures of own_study.py."""
import unittest
from decimal import Decimal

import support
from own_study import OWN, OwnCase, without_fossil
from support import deckle


class Core(OwnCase):
    """The worked example's roll: a core of 4.4 g of board of 0.75 kg CO2e a kilogram, which counts as product."""

    def declared(self, unit, counts="product"):
        products = OWN["study.yaml"].split("disclosure:")[1].replace("sheet: {", f"bath_3ply: {{unit: {unit}, ")
        study = self.copy_of("worked_example", mill__yaml=without_fossil,
                             study__yaml=lambda text: text + "disclosure:" + products,
                             products__yaml=lambda text: text.replace("counts_as: product", f"counts_as: {counts} "))
        study = study.rename(study.with_name(f"{unit}_{counts}"))
        return deckle("disclose", study).json()["pcf"]

    def test_a_piece_and_a_kilogram_are_of_the_same_product(self):
        piece, kilogram = self.declared("piece"), self.declared("kilogram")
        mass = Decimal(piece["productMassPerDeclaredUnit"])
        for name in ("pcfExcludingBiogenicUptake", "fossilGhgEmissions", "biogenicCarbonContent", "packagingGhgEmissions"):
            self.assertLess(abs(Decimal(piece[name]) / mass - Decimal(kilogram[name])), Decimal("0.00001"), name)

    def test_a_core_that_is_product_is_no_packaging(self):
        product, packaging = self.declared("piece"), self.declared("piece", "packaging")
        self.assertEqual(Decimal(packaging["packagingGhgEmissions"]) - Decimal(product["packagingGhgEmissions"]), Decimal("0.0033"))
        self.assertEqual(Decimal(product["productMassPerDeclaredUnit"]) - Decimal(packaging["productMassPerDeclaredUnit"]), Decimal("0.0044"))
        self.assertEqual(product["pcfExcludingBiogenicUptake"], packaging["pcfExcludingBiogenicUptake"])


if __name__ == "__main__":
    support.main()
