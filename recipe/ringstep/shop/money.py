"""Money as it is printed: whole coins, no digit dropped.

Comes in: exact amounts and a currency. Goes out: amounts and words.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil

# ISO 4217, from memory: currencies whose smallest coin is not a hundredth.
_NO_COINS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THOUSANDTHS = "BHD IQD JOD KWD LYD OMR TND"


def _digits(currency: str) -> int:
    """Decimals of the smallest coin."""
    return 0 if currency in _NO_COINS.split() else 3 if currency in _THOUSANDTHS.split() else 2


def smallest_coin(currency: str) -> Decimal:
    """The smallest coin of a currency.

    >>> smallest_coin("EUR"), smallest_coin("JPY")
    (Decimal('0.01'), Decimal('1'))
    """
    return Decimal(1).scaleb(-_digits(currency))


def share(cost: Decimal | Fraction, pieces: int, currency: str) -> Decimal:
    """A kit's share of the cost, rounded up to the smallest coin, so that the shares cover it.

    >>> share(Decimal("10.00"), 3, "EUR"), share(Decimal("10"), 3, "JPY")
    (Decimal('3.34'), Decimal('4'))
    """
    digits = _digits(currency)
    coins = ceil(Fraction(cost) * 10**digits / pieces)
    return Decimal(f"{coins}e-{digits}")


def amount_text(amount: Decimal, currency: str) -> str:
    """An amount with at least the decimals of its currency, and no digit dropped.

    >>> amount_text(Decimal("1234.5"), "EUR"), amount_text(Decimal("4.995"), "EUR")
    ('1,234.50', '4.995')
    """
    exponent = amount.as_tuple().exponent
    written = -exponent if isinstance(exponent, int) else 0
    return f"{amount:,.{max(_digits(currency), written)}f}"


def money_text(amount: Decimal, currency: str) -> str:
    """An amount with its currency: '12.50 EUR'."""
    return f"{amount_text(amount, currency)} {currency}"
