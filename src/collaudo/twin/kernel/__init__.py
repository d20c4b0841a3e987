"""The compiled kernel: arrays in, arrays out. It knows zones, cells, elements and contacts, no parts and no
names."""
