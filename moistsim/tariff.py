"""What a kilowatt-hour costs."""

from moistsim.units import description, quantity


@description
class Tariff:
    """A flat price of electricity."""

    price: float = quantity(
        "USD/kWh", "price of energy, taxes and fees included", default=0.15, at_least=0.0
    )

    def cost(self, kwh: float) -> float:
        """Cost of an amount of energy, USD."""
        return self.price * kwh
