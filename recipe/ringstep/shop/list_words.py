"""Words of lists of rings, as shops head their columns: English, and usual German, French, Spanish.

All without accents and capitals, as `rows.plain_words` gives them. Common practice, no source.
"""

from __future__ import annotations


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


#: What a column is, and the words that head it, parted by commas.
HEADINGS = {
    "price": "price, cost, preis, preise, stuckpreis, einzelpreis, packungspreis, prix, prix"
    " unitaire, tarif, precio, importe",
    "currency": "currency, wahrung, devise, monnaie, moneda, divisa",
    "pack": "pack, packs, pack size, pieces, pcs, quantity, qty, rings per pack, rings in a pack,"
    " packung, packungsinhalt, packungsgrosse, ve, vpe, stuck, stuckzahl, menge, inhalt, quantite,"
    " lot, piezas, paquete, cantidad, unidades",
    "count": "count, stock, in stock, quantity, qty, pieces, pcs, bestand, anzahl, stuck,"
    " stuckzahl, menge, quantite, cantidad, unidades, existencias",
    "wire": "wire, gauge, wire size, wire diameter, wire thickness, thickness, draht, drahtstarke,"
    " drahtdicke, drahtdurchmesser, starke, fil, diametre du fil, diametre fil, epaisseur, alambre,"
    " hilo, diametro del hilo, diametro del alambre, grosor",
    "inside": "inside, inner, internal, inside diameter, inner diameter, opening, id, i d, innen,"
    " innendurchmesser, innenmass, innen o, o innen, interieur, diametre interieur, diametre"
    " interne, interior, diametro interior, diametro interno",
    "material": "material, metal, alloy, metall, werkstoff, legierung, matiere, materiau, alliage,"
    " aleacion",
    "colour": "colour, color, farbe, couleur",
    "size": "size, ring size, dimensions, grosse, ringgrosse, abmessung, abmessungen, masse,"
    " taille, dimension, medida, medidas, tamano",
    "ring": "ring, rings, name, item, article, product, description, bin, artikel, bezeichnung,"
    " artikelbezeichnung, beschreibung, produkt, anneau, anneaux, produit, designation, anilla,"
    " anillas, articulo, descripcion, producto, nr, no, number, nummer, fach, numero",
}  # fmt: skip
#: Headings of mere numbers, by which rings are called where no other column names them.
NUMBERED = _set("nr no number nummer fach numero")
#: A heading with one of these is of a size that is not asked for.
OUTSIDE = _set(
    "outside outer od external aussen aussendurchmesser exterieur externe exterior externo"
)
#: How the line of a sum begins.
TOTALS = _set("total totals subtotal sum summe gesamt zwischensumme somme suma")
#: What is said beside the number of rings in a pack.
PIECES = _set(
    "pc pcs piece pieces ring rings pack of per x st stk stuck ringe je pro er pce"
    " anneau anneaux par lot de ud uds unidad unidades pieza piezas anilla anillas por"
)
#: Headings that give the price of one ring, and words before a number that give that of so many.
SINGLY = "each, per ring, per piece, a ring, stuckpreis, einzelpreis, pro stuck, je stuck, la pieza"
PER = _set("per pro je pour por cada")
#: Signs of money that stand for one currency alone; '$' is printed as it is, for all that have it.
SIGNS = {"€": "EUR", "£": "GBP", "$": "$", "zł": "PLN", "kč": "CZK", "euro": "EUR", "euros": "EUR"}
#: ISO 4217, from memory: those that are known in a heading, where any three letters may stand.
CURRENCIES = _set(
    "AUD BGN BRL CAD CHF CNY CZK DKK EUR GBP HKD HUF INR ISK JPY KRW MXN NOK NZD PLN RON SEK SGD"
    " TRY USD ZAR"
)
#: Metals as other shops have them, and the words by which `metals` knows them.
METALS = {
    "kupfer": "copper", "cuivre": "copper", "cobre": "copper", "messing": "brass",
    "laiton": "brass", "laton": "brass", "edelstahl": "stainless steel", "inox": "stainless steel",
    "acier inoxydable": "stainless steel", "acero inoxidable": "stainless steel",
    "stahl": "steel", "acier": "steel", "acero": "steel", "aluminio": "aluminium",
    "silber": "silver", "argent": "silver", "plata": "silver", "sterlingsilber": "sterling silver",
    "titan": "titanium", "titane": "titanium", "titanio": "titanium", "bronce": "bronze",
}  # fmt: skip
#: Said of a colour where there is none.
NO_COLOUR = frozenset(("", "none", "plain", "natural", "natur", "naturel", "bare"))
#: Colours; rings of one are not bought for those of another, or of none.
COLOURS = _set(
    "red blue green black white pink purple violet orange yellow grey gray brown turquoise gold"
    " rot blau grun schwarz weiss rosa lila gelb grau braun rouge bleu vert noir blanc jaune gris"
    " rojo azul verde negro blanco amarillo"
)
#: A ring treated so is not bought for one that is not.
TREATED = _set(
    "plated clad filled coated enamelled enameled lacquered anodised anodized oxidised oxidized"
    " blackened tinned coloured colored verkupfert vergoldet versilbert lackiert eloxiert"
)
#: Rings that cannot be opened; those that are stretched over instead.
CLOSED = _set("closed welded soldered solid geschlossen verlotet soude soldado")
ELASTIC = _set("rubber silicone epdm gummi silikon")


def metal_name(words: str) -> str:
    """A metal in lower case, in English where it is known in another tongue.

    >>> metal_name("Messing"), metal_name("red gold")
    ('brass', 'red gold')
    """
    return METALS.get(words.casefold(), words.casefold())
