"""Where the torque goes: an order in which each torque follows from those before it (`order`), and its words (`told`)."""
