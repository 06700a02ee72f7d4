"""Check the whole project: ``python -m checks``; the rules of the house style that tests apply live here."""
