"""One case told in open formats: CSV, JSON Lines, W3C PROV-JSON, GS1 EPCIS 2.0. See FORMATS.md."""
