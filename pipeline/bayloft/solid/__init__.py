"""The loft: sections become one exact surface; integrals, mesh and cuts are views of it."""
