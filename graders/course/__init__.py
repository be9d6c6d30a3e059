"""The course as it lies on disk: folder, settings, class list, accounts, and the lock that lets one command change it at a time."""
