"""Work in from learners: folders, archives and exchange folders, believed in nothing that they say about themselves."""
