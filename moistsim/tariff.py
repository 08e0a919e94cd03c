"""What a kilowatt-hour costs, of electricity and of gas."""

from moistsim.units import description, quantity


@description
class Tariff:
    """A flat price of electricity, and one of gas."""

    price: float = quantity(
        "USD/kWh", "price of energy, taxes and fees included", default=0.15, at_least=0.0
    )

    gas_price: float = quantity(
        "USD/kWh",
        "price of gas by its higher heating value, taxes and fees included; matters to a furnace",
        default="1.20 USD/therm",
        at_least=0.0,
    )

    def cost(self, kwh: float, gas_kwh: float = 0.0) -> float:
        """Cost of an amount of electricity and of gas, USD."""
        return self.price * kwh + self.gas_price * gas_kwh
