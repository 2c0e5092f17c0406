"""The cautions that stand on every plan."""

from host.mains.device_rules import without_limiter_c

CAUTIONS = (
    "Mains work is done by a licensed person; this page is a question to that person, not an answer.",
    "Local codes come first. Where they say otherwise, this page is wrong.",
    "Nothing here has been tried on your oven. A figure marked 'to be verified' is from memory "
    "or from one source: look it up before it is relied on.",
    "Residual-current protection (RCD/GFCI) on this circuit, and earth continuity of oven, box "
    "and heatsink measured before each season.",
    "Never bypass a protection unrecorded: name, reason and date on the reversal sheet.",
    f"An independent high limit, tested, before any heat above {without_limiter_c()} degC.",
    "A solid-state relay fails closed, and leaks when off: off means contactor open and plug out.",
    "An extinguisher for electrical fires and a fire blanket within reach; nobody leaves the "
    "oven alone while it is hot.",
    "Clearances: nothing that burns beside, behind or above the oven; its outside gets hotter "
    "than it was made for, glass included.",
    "Not for rented or insured premises without the owner's and the insurer's written consent.",
    "The oven's warranty and its conformity are void, and so may be the insurance.",
    "A modified oven is not sold on, lent or given away; put back, it keeps the ledger with it.",
)

QUESTIONS = (
    "Highest short-circuit current at the board, and what the breaker can break?",
    "Residual-current device: does it hold with cold, damp elements?",
    "Which conductors are live here, and do the poles of switch, contactor and breaker cut them all?",
    "Do the oven's own cut-outs break the elements in OURS as in ORIGINAL: tried, one after the other, and in which "
    "conductor does each sit?",
    "Are the two contacts of key, limiter and switch apart by their maker's word, one for the chain, one for 3.3 V?",
    "What keeps chain and 3.3 V wires from mains in box and glands?",
    "Do K2 and K3 bear coil and fan motor, inductive loads, by their data sheets?",
    "Where is the isolator that a person at the oven reaches without leaning over it?",
    "Relay box: degree of protection, glands, strain relief, torque of the terminals?",
    "Control supply and fan: dead when plug or isolator is out, tried?",
    "What else hangs on the main fuse on such an evening?",
    "Which inspection and which paper does the local code ask for after this change?",
)
